// The first start: the cautions to acknowledge, then the few steps until a day can be seen.
import { button, h, type Child } from "../dom";
import type { Board, RigThing } from "../nouns";
import { to } from "../route";
import { t } from "../words";

const KEY = "unsown-cautions-read";

export function startPage(board: Board, rigs: readonly RigThing[], changed: () => void): HTMLElement {
  if (!localStorage.getItem(KEY)) return cautions(changed);
  const steps: [string, string, string, boolean][] = [
    [t.start.paddock, t.start.paddockWhy, to.newPaddock, board.paddocks.length > 0],
    [t.start.rig, t.start.rigWhy, to.newRig, rigs.length > 0],
    [t.start.phone, t.start.phoneWhy, to.phones, board.phones.length > 0],
    [t.start.track, t.start.trackWhy, to.carry, false],
  ];
  const next = steps.findIndex(([, , , done]) => !done);
  return h(
    "ol",
    { class: "steps" },
    steps.map(([title, why, href, done], index) =>
      h(
        "li",
        { class: done ? "step done" : "step" },
        h("div", {}, h("h2", {}, title, done && h("span", { class: "tick" }, ` ${t.start.done}`)), h("p", {}, why)),
        !done && h("a", { class: `button ${index === next ? "first" : "plain"}`, href }, title),
      ),
    ),
  );
}

function cautions(changed: () => void): HTMLElement {
  const lines: Child[] = t.caution.start.map((line) => h("li", {}, line));
  return h(
    "section",
    { class: "panel cautions" },
    h("p", {}, t.start.what),
    h("h2", {}, t.caution.title),
    h("ul", {}, lines),
    button(
      t.caution.read,
      () => {
        localStorage.setItem(KEY, "1");
        changed();
      },
      {},
      "first",
    ),
  );
}
