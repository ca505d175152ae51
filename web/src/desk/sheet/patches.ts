// The loose ends as a list: each lights up on the map, and lights up here when met on the map.
import { button, h, on, spoken, type Child } from "../dom";
import type { Patch, Question } from "../nouns";
import * as say from "../say";
import type { Worth } from "../upshot";
import { t } from "../words";
import { placeOf, type Bounds } from "./place";
import { inDrivingOrder, worthLine, worthSum } from "./worth";

const AT_FIRST = 10;
const dots = { sure: 3, likely: 2, "can't tell": 1 } as const;

export interface PatchActs {
  light(number: number | null, moveThere: boolean): void;
  all(): void;
}

export function patchList(found: readonly Patch[], bounds: Bounds, worth: Worth | null | undefined, questions: readonly Question[], lit: number | null, whole: boolean, acts: PatchActs): Child[] {
  if (!found.length) return [h("h2", {}, t.patches.title(0)), h("p", {}, t.patches.none)];
  const patches = inDrivingOrder(found, worth);
  const place = patches.findIndex((p) => p.number === lit);
  const shown = whole || place >= AT_FIRST ? patches : patches.slice(0, AT_FIRST);
  return [
    h("h2", {}, t.patches.title(patches.length)),
    ...worthSum(worth, found, bounds),
    h("p", { class: "caution-line" }, worth?.now ? t.worth.caution : t.caution.patches),
    worth?.now && h("p", { class: "under" }, t.worth.weighed),
    h("ol", { class: "patches" }, shown.map((patch) => row(patch, bounds, worth, questions, patch.number === lit, acts))),
    shown.length < patches.length && h("p", {}, button(t.patches.all(patches.length), acts.all, { id: "patches-all" })),
  ];
}

function row(patch: Patch, bounds: Bounds, worth: Worth | null | undefined, questions: readonly Question[], lit: boolean, acts: PatchActs): HTMLElement {
  const made = h(
    "button",
    { type: "button", class: "patch", id: `patch-${patch.number}`, "aria-pressed": String(lit) },
    h("span", { class: patch.call === "can't tell" ? "plate unsure" : "plate" }, patch.number, spoken(": ")),
    h(
      "span",
      { class: "patch-words" },
      h("span", { class: "patch-size" }, say.size(patch.area_m2), " ", t.patches.kind(patch.kind), spoken(", ")),
      h("span", {}, t.patches.place(placeOf(patch.lon, patch.lat, bounds), say.distance), spoken(", ")),
      worthLine(patch.number, worth, questions),
    ),
    h("span", { class: "call" }, h("span", { class: "dots", "aria-hidden": "true" }, "●".repeat(dots[patch.call]) + "○".repeat(3 - dots[patch.call])), h("span", {}, t.patches.call(patch.call))),
  );
  on(made, { click: () => acts.light(lit ? null : patch.number, true) });
  return h("li", {}, made);
}
