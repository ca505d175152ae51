// Under the map: the patch that is lit, and the way to the next one without leaving the map.
import { button, h, type Child } from "../dom";
import type { Patch } from "../nouns";
import * as say from "../say";
import { t } from "../words";

/** `go` is told the number to light, or null for the whole paddock. */
export function stepper(patches: readonly Patch[], lit: number | null, go: (number: number | null) => void): Child {
  if (!patches.length) return null;
  const at = patches.findIndex((patch) => patch.number === lit);
  const patch = patches[at];
  const to = (by: number): void => go(patches[(at < 0 ? (by > 0 ? 0 : patches.length - 1) : at + by + patches.length) % patches.length]?.number ?? null);
  return h(
    "div",
    { class: "stepper", role: "group", "aria-label": t.patches.step },
    h("p", { class: "stepper-words", "aria-live": "polite" }, patch ? [h("strong", {}, t.patches.one(patch.number, patches.length)), ` ${say.size(patch.area_m2)} ${t.patches.kind(patch.kind)}, ${t.patches.call(patch.call)}`] : t.patches.walk),
    h("div", { class: "row tight" }, button(t.patches.before, () => to(-1), { id: "patch-before" }), button(t.patches.next, () => to(1), { id: "patch-next" }), button(t.map.whole, () => go(null), { id: "map-whole" })),
  );
}
