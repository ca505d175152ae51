// Where the numbers of the patches stand on the gate check's map.
import { boxOf, holds, nearest } from "../../core/rings";
import type { Polygon } from "../../core/words";
import type { Found } from "../sums";

/** Half the side of a number's plate, px. */
export const PLATE = 15;
/** How far a number stands from its patch, px; and how often a place is looked for, every sixth time farther off. */
const BESIDE = 30;
const TURNS = 18;

export interface Spot {
  readonly number: number;
  readonly patch: Found;
}

export type Point = readonly [number, number];
export type ToPage = (x: number, y: number) => Point;

/** A number's plate, and the patch it is joined to by a line; `tight` where no place was free for it. */
export interface Placed {
  readonly spot: Spot;
  readonly tight: boolean;
  readonly x: number;
  readonly y: number;
  readonly to: Point;
}

/**
 * Where each number stands: beside its patch, towards the rim of the drawing, over no other number and not over where
 * one stands (`here`). On a crowded map the later ones find no place near by: they show while their card is
 * open, instead of hiding others.
 */
export function plates(spots: readonly Spot[], at: ToPage, wide: number, high: number, here: Point | null): Placed[] {
  const out: Placed[] = [];
  const held = (value: number, most: number): number => Math.min(Math.max(value, PLATE + 2), most - PLATE - 2);
  for (const spot of spots) {
    const to = at(...middle(spot.patch.outline));
    const outward = Math.atan2(to[1] - high / 2, to[0] - wide / 2);
    let [x, y] = to;
    let tight = true;
    for (let turn = 0; tight && turn < TURNS; turn++) {
      // to both sides by turns, and every sixth time farther off
      const angle = outward + (turn % 2 === 0 ? 1 : -1) * Math.ceil((turn % 6) / 2) * 0.9;
      const far = BESIDE + 12 * Math.floor(turn / 6);
      x = held(to[0] + far * Math.cos(angle), wide);
      y = held(to[1] + far * Math.sin(angle), high);
      const clear = Math.abs(x - to[0]) > PLATE + 4 || Math.abs(y - to[1]) > PLATE + 4;
      // nor may its line cross another number
      tight = !clear || (here !== null && Math.max(Math.abs(here[0] - x), Math.abs(here[1] - y)) < PLATE + 9) || out.some((other) => apart(other, x, y) <= 2 * PLATE + 2 || apart(other, (x + to[0]) / 2, (y + to[1]) / 2) <= PLATE);
    }
    out.push({ spot, tight, x, y, to });
  }
  return out;
}

const apart = (plate: Placed, x: number, y: number): number => Math.max(Math.abs(plate.x - x), Math.abs(plate.y - y));

function middle(outline: Polygon): Point {
  const box = boxOf(outline);
  const [x, y] = [(box.west + box.east) / 2, (box.south + box.north) / 2];
  if (holds(outline, x, y)) return [x, y];
  const edge = nearest(outline, x, y);
  return [edge.x, edge.y];
}
