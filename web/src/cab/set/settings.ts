// What this phone is set to: units, words, the hand, a wireless button, where it sits.
import { button, h, put } from "../dom";
import { choices, choose } from "../choices";
import { go, type Page, pageOf } from "../route";
import { unit } from "../say";
import { backButton } from "../shell";
import { cab, keeper } from "../state";
import { options } from "../stand/options";
import { mounts } from "./mount";
import { speak, t } from "../words";

/** Keys that the page itself is moved about with; a button that types one would do two things. */
const TAKEN = ["Tab", "Escape", "Shift", "Control", "Alt", "Meta", "Unidentified", "BrowserBack", "GoBack"];

export function settingsPage(): Page {
  const log = keeper();
  const now = choices.get();
  const learned = learning();
  // what has to do with the pad is not for a phone that has none
  const logs = cab.get().part !== "rider";
  return pageOf(
    t.more.settings.title,
    [
      h("h2", {}, t.more.settings.units),
      options(t.more.settings.units, t.more.settings.unit, unit(), (units) => choose({ units }, log)),
      h("h2", {}, t.more.settings.land),
      options(t.more.settings.land, t.more.settings.lands, now.land ?? cab.get().pack?.settings.land ?? "paddock", (land) => {
        choose({ land }, log);
        speak(land);
        go("settings");
      }),
      logs && [
        h("h2", {}, t.more.settings.hand),
        options(t.more.settings.hand, t.more.settings.hands, now.hand, (hand) => choose({ hand }, log)),
        h("h2", {}, t.more.settings.button),
        learned.body,
        h("h2", {}, t.more.settings.place),
        mounts(),
      ],
      button(t.more.settings.cautions, () => go("cautions")),
      backButton(),
    ],
    learned.close,
  );
}

/** The wireless button: what it types is what it is known by. */
function learning(): { body: HTMLElement; close: () => void } {
  const body = h("div", {});
  let end = (): void => undefined;
  const show = (said = ""): void => {
    const { button: key } = choices.get();
    put(
      body,
      h("p", { role: "status", id: "learned" }, said !== "" ? said : key === null ? t.more.settings.noButton : t.more.settings.learned(key)),
      button(t.more.settings.learn, listen),
      key === null ? null : button(t.more.settings.forget, () => take(null)),
    );
  };
  const take = (key: string | null): void => {
    choose({ button: key }, keeper());
    show();
  };
  const listen = (): void => {
    end();
    show(t.more.settings.press);
    const heard = (event: KeyboardEvent): void => {
      event.preventDefault();
      event.stopPropagation();
      end();
      const key = event.code !== "" ? event.code : event.key;
      if (TAKEN.indexOf(event.key) >= 0) show(t.more.settings.refused(event.key));
      else take(key);
    };
    window.addEventListener("keydown", heard, true);
    end = () => window.removeEventListener("keydown", heard, true);
  };
  show();
  return { body, close: () => end() };
}

/** The cautions, to be read again at any time. */
export function cautionsPage(): Page {
  return pageOf(t.more.cautions, [h("ul", { class: "cautions" }, t.cautions.list.map((each) => h("li", {}, each))), button(t.back, () => go("settings"))]);
}
