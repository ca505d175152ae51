// First start, one thing after the other: the cautions, keeping the log, the home screen, home.
import { button, h, put, type Child } from "../dom";
import { canInstall, fromShare, install, isInstalled } from "../install";
import { go, type Page } from "../route";
import { cab, keeper } from "../state";
import { t } from "../words";
import { givenCode, pairForm, pairedLine } from "./pair";
import { readyLine } from "./readyline";

const READ = "cautions";

/** Whether the cautions as they are now were acknowledged on this phone. */
export async function cautionsRead(): Promise<boolean> {
  return (await keeper().recall<number>(READ).catch(() => undefined)) === t.cautions.version;
}

export function firstPage(): Page {
  const body = h("div", { class: "page" });
  const ends: (() => void)[] = [];
  const steps: ((next: () => void) => readonly Child[])[] = [
    cautions,
    storage,
    home_screen,
    pairing,
    (next) => {
      const line = readyLine();
      ends.push(line.close);
      return [h("h1", {}, t.ready.ready), line.body, h("p", {}, pairedLine()), button(t.goOn, next, {}, "first")];
    },
  ];
  const show = (at: number): void => {
    const step = steps[at];
    if (step === undefined) go("start");
    else {
      put(body, ...step(() => show(at + 1)));
      window.scrollTo(0, 0);
    }
  };
  show(0);
  return { title: t.name, body, close: () => ends.forEach((end) => end()), holds: true };
}

function cautions(next: () => void): readonly Child[] {
  const read = (): void => {
    const { prompt, version } = t.cautions;
    keeper().append({ kind: "say", t_ms: Date.now(), prompt, answer: `version ${version}` }).catch(() => undefined); // the shell says so
    keeper().remember(READ, version).catch(() => undefined); // asked again, then
    next();
  };
  return [h("h1", {}, t.cautions.title), h("ul", { class: "cautions" }, t.cautions.list.map((each) => h("li", {}, each))), button(t.cautions.read, read, {}, "first")];
}

function storage(next: () => void): readonly Child[] {
  const said = h("p", { role: "status" });
  const asked = async (): Promise<void> => {
    const promised = await keeper().persist();
    put(said, promised === null ? t.storage.unknown : promised ? t.storage.yes : t.storage.no);
    act.replaceWith(button(t.goOn, next, {}, "first"));
    cab.set({ room: await keeper().headroom() });
  };
  const act = button(
    t.storage.ask,
    () => {
      act.disabled = true;
      void asked();
    },
    {},
    "first",
  );
  return [h("h1", {}, t.storage.title), h("p", {}, t.storage.body), said, act];
}

function home_screen(next: () => void): readonly Child[] {
  if (isInstalled()) return [h("h1", {}, t.install.title), h("p", {}, t.install.done), button(t.goOn, next, {}, "first")];
  const code = givenCode();
  const share = fromShare() !== null;
  return [
    h("h1", {}, t.install.title),
    h("p", {}, t.install.body),
    // where the home screen's page has a storage of its own, a code used up here would be lost
    share ? h("p", {}, t.install.share) : null,
    share && code !== null ? h("p", { class: "code" }, t.install.code(code)) : null,
    share ? null : canInstall() ? button(t.install.act, () => void install(), {}, "first") : h("p", {}, t.install.menu),
    button(t.goOn, next, {}, share || !canInstall() ? "first" : "plain"),
  ];
}

function pairing(next: () => void): readonly Child[] {
  if (cab.get().home !== null && givenCode() === null) return [h("h1", {}, t.pair.title), h("p", {}, pairedLine()), button(t.goOn, next, {}, "first")];
  return [h("h1", {}, t.pair.title), h("p", {}, t.pair.body), pairForm(next), button(t.later, next)];
}
