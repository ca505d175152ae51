// The corners of one ring as a list: each can be moved by the arrow keys, added to and taken out.
import { button, h, on, type Child } from "../dom";
import type { Geometry, LonLat } from "../nouns";
import { t } from "../words";
import { cornersOf, nudged, withCorners } from "./form";

const MOST = 120;
const keys: Record<string, [number, number]> = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };

/** `changed` gets the new geometry; `looked` the corner in hand. */
export function cornerList(geometry: Geometry, changed: (geometry: Geometry) => void, looked: (corner: LonLat | null) => void): Child | Child[] {
  const corners = cornersOf(geometry);
  if (corners.length > MOST) return h("p", {}, t.shape.manyCorners(corners.length));
  const set = (index: number, ...now: LonLat[]): void => {
    changed(withCorners(geometry, [...corners.slice(0, index), ...now, ...corners.slice(index + 1)]));
  };
  return [
    h("p", { id: "corner-help" }, t.shape.cornerHelp),
    h(
      "ol",
      { class: "corners" },
      corners.map((corner, index) => {
        const next = corners[(index + 1) % corners.length] ?? corner;
        const move = button(`${corner[1].toFixed(6)}, ${corner[0].toFixed(6)}`, () => looked(corner), { id: `corner-${index}`, "aria-describedby": "corner-help", "aria-label": t.shape.corner(index + 1, corner[1].toFixed(6), corner[0].toFixed(6)) });
        on(move, {
          focus: () => looked(corner),
          keydown: (event) => {
            const way = keys[event.key];
            if (!way) return;
            event.preventDefault();
            const metres = event.shiftKey ? 10 : 1;
            set(index, nudged(corner, way[0] * metres, way[1] * metres));
          },
        });
        return h(
          "li",
          {},
          move,
          button(t.shape.addCorner, () => set(index, corner, [(corner[0] + next[0]) / 2, (corner[1] + next[1]) / 2]), { id: `corner-add-${index}`, "aria-label": t.shape.addCornerAfter(index + 1) }, "quiet"),
          corners.length > 3 && button(t.shape.dropCorner, () => set(index), { id: `corner-drop-${index}`, "aria-label": t.shape.dropCornerNumber(index + 1) }, "quiet"),
        );
      }),
    ),
  ];
}
