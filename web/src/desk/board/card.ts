// One paddock on the board: its shape, its state in word and pattern, and how the ground divides.
import { h, put, type Child } from "../dom";
import { ribbon, swatch, type GroundState } from "../ink";
import type { BoardPaddock, PaddockState } from "../nouns";
import { shapeOf } from "../shapes";
import { to } from "../route";
import * as say from "../say";
import { noteReach } from "../trouble";
import { t } from "../words";
import { outline } from "../outline";

const marks: Record<PaddockState, GroundState> = {
  "not begun": "ground",
  part: "part",
  sown: "sown",
  "loose ends": "bare",
  computing: "part",
  failed: "cant-tell",
};

export function paddockCard(paddock: BoardPaddock, season: number, version: number | null, part: number | null): HTMLElement {
  const computing = paddock.state === "computing" || part !== null;
  return h(
    "li",
    { class: "card" },
    shape(paddock.id, version),
    h(
      "div",
      { class: "card-words" },
      h("h2", {}, h("a", { href: to.paddock(paddock.id, season) }, paddock.name)),
      h("p", { class: "state" }, swatch(marks[paddock.state], 24, 16), t.state[computing ? "computing" : paddock.state]),
      computing && h("progress", { id: `part-${paddock.id}`, max: 1, value: part ?? 0, "aria-label": t.state.computing }),
      facts(paddock),
      tape(paddock),
    ),
  );
}

/** The paddock's shape, drawn when it has come: the words do not wait for it. */
function shape(id: string, version: number | null): HTMLElement {
  const box = h("div", { class: "card-shape" }, outline(null));
  if (version !== null) shapeOf(id, version).then((found) => put(box, outline(found)), noteReach);
  return box;
}

function facts(paddock: BoardPaddock): Child {
  const rows: Child[] = [h("p", {}, paddock.sown_ha === null ? t.board.toSow(say.area(paddock.net_ha)) : t.board.sownOf(say.area(paddock.sown_ha), say.area(paddock.net_ha)))];
  if (paddock.bare_ha !== null && paddock.bare_ha >= 0.005) {
    rows.push(h("p", {}, t.board.bare(say.area(paddock.bare_ha), say.band(paddock.bare_low_ha ?? 0, paddock.bare_high_ha ?? 0))));
  }
  const open = [
    paddock.questions ? t.board.questions(paddock.questions) : "",
    paddock.loose_ends ? t.board.loose(paddock.loose_ends) : "",
  ].filter(Boolean);
  if (open.length) rows.push(h("p", {}, h("strong", {}, open.join(", "))));
  if (paddock.last_day) rows.push(h("p", {}, t.board.last(say.dayShort(paddock.last_day))));
  return h("div", { class: "facts" }, rows);
}

/** The ground as one strip: sown, doubt, bare, and what is left; to scale, in the patterns of the map. */
function tape(paddock: BoardPaddock): Child {
  if (!paddock.sown_ha || paddock.net_ha <= 0) return null;
  const share = (ha: number | null): number => Math.max(0, (ha ?? 0) / paddock.net_ha);
  return ribbon([
    ["sown", share(paddock.sown_ha)],
    ["doubt", share(paddock.doubt_ha)],
    ["bare", share(paddock.bare_ha)],
  ]);
}
