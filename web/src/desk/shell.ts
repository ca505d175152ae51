// What stands round every page: the farm's name, the way to the other pages, the caution.
import { h, on, put } from "./dom";
import { noticeBox } from "./notice";
import { to } from "./route";
import { desk } from "./state";
import { t } from "./words";

const main = h("main", { id: "page", tabindex: "-1" });
const nav = h("nav", { id: "pages", "aria-label": t.shell.pages });
const name = h("a", { class: "farm", href: to.board });
const away = h("div", { class: "away", role: "status" });
const foot = h("footer", { class: "foot" });
const opens = h("button", { type: "button", class: "button plain opens", "aria-expanded": "false", "aria-controls": "pages" });

/** The part of the page that a route fills. */
export const stage = main;

export function buildShell(into: Element): void {
  on(opens, { click: () => unfold(opens.getAttribute("aria-expanded") !== "true") });
  on(nav, { keydown: (event) => void (event.key === "Escape" && unfold(false)) });
  put(
    into,
    h("a", { class: "skip", href: "#page" }, t.shell.skip),
    h("header", { class: "head" }, name, opens, nav),
    away,
    main,
    foot,
    noticeBox,
  );
  desk.watch(["reached"], ({ reached }) => put(away, !reached && h("p", {}, t.shell.away)));
  desk.watch(["hello", "settings"], words);
}

function words(): void {
  const { hello, settings } = desk.get();
  put(name, settings.farm ?? hello?.farm ?? t.shell.nameless);
  put(opens, t.shell.pages);
  put(foot, h("p", {}, t.caution.look), h("p", {}, "Unsown ", hello?.version ?? ""));
}

/** Marks which page is open, and folds the list of pages away. */
export function markPlace(address: string): void {
  unfold(false);
  const path = address.replace(/\/+$/, "");
  const here = (start: string): boolean => (start === to.board ? path === "" || path === start || path.startsWith("/desk/paddock") || path === to.newPaddock : path.startsWith(start));
  const places: [string, string, string][] = [
    [to.board, to.board, t.pages.board],
    [to.days, "/desk/day", t.pages.days],
    [to.rigs, "/desk/rig", t.pages.rigs],
    [to.phones, to.phones, t.pages.phones],
    [to.carry, to.carry, t.pages.carry],
    [to.settings, to.settings, t.pages.settings],
  ];
  put(
    nav,
    h(
      "ul",
      {},
      places.map(([href, start, text]) =>
        h("li", {}, h("a", { href, "aria-current": here(start) ? "page" : null }, text)),
      ),
    ),
  );
}

export function unfold(open: boolean): void {
  opens.setAttribute("aria-expanded", String(open));
  nav.classList.toggle("open", open);
}

/** Hides what leads elsewhere, for the page that asks for the passphrase. */
export function closeUp(closed: boolean): void {
  nav.hidden = closed;
  opens.hidden = closed;
}
