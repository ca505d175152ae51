// Rings sorted into polygons: each outer ring with its own holes.
import { boxOf, holds, signedArea } from "./rings";
import type { Box } from "./rings";
import type { Area, Ring } from "./words";

interface Outer {
  readonly rings: Ring[];
  readonly box: Box;
  readonly m2: number;
}

/**
 * Polygons of rings that share no ground, as clipping gives them: outer ones run anticlockwise, holes
 * clockwise. A hole belongs to the smallest outer ring round it; what lies in a hole is a polygon of its own.
 */
export function nested(rings: readonly Ring[]): Area {
  const outers: Outer[] = [];
  const holes: Ring[] = [];
  for (const ring of rings) {
    const m2 = signedArea(ring);
    if (m2 > 0) outers.push({ rings: [ring], box: boxOf([ring]), m2 });
    else if (m2 < 0) holes.push(ring);
  }
  const smallest = outers.slice().sort((one, two) => one.m2 - two.m2);
  for (const hole of holes) {
    const box = boxOf([hole]);
    const [x, y] = onEdge(hole);
    const around = smallest.filter((outer) => within(box, outer.box));
    // where no ground is left between them that edge is one of the outer ring, and inside and outside are one
    (around.find((outer) => holds([outer.rings[0]], x, y)) ?? around[0])?.rings.push(hole);
  }
  return outers.map((outer) => outer.rings);
}

/** Corners are rounded: by so much a hole may stick out, m. */
const ROUNDED_M = 2e-4;

function within(box: Box, other: Box): boolean {
  return Math.min(box.west - other.west, other.east - box.east, box.south - other.south, other.north - box.north) >= -ROUNDED_M;
}

/** The middle of the longest edge: rings that touch share corners, not the middles of edges. */
function onEdge(ring: Ring): [number, number] {
  let longest = -1;
  let [x, y] = [Number.NaN, Number.NaN];
  for (let i = 0, j = ring.length - 2; i < ring.length; j = i, i += 2) {
    const square = (ring[i] - ring[j]) ** 2 + (ring[i + 1] - ring[j + 1]) ** 2;
    if (square > longest) [longest, x, y] = [square, (ring[i] + ring[j]) / 2, (ring[i + 1] + ring[j + 1]) / 2];
  }
  return [x, y];
}
