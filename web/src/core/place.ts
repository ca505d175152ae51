// Where in the paddock something lies, by the paddock's own sides: what a driver can follow.
import { inside } from "./bare";
import { boxOf, nearest } from "./rings";
import type { Area, Polygon, Ring } from "./words";

const BESIDE_M = 15;
/** Nearer than this to the fence it lies at it, m. */
export const AGAINST_M = 3;

/**
 * `side` is north, north-east … or middle, by thirds of the paddock's extent; `end` the nearer end of
 * that side and `along_m` the metres from it (empty in corners and middle); `edge` what the nearest edge
 * is, and `inside_m` how far off.
 */
export interface Place {
  readonly side: string;
  readonly end: string;
  readonly along_m: number;
  readonly edge: "fence" | "keep-out";
  readonly inside_m: number;
}

/** Where an outline lies in the paddock `net`; both on the paddock's plane. */
export const placeOf = (outline: Polygon, net: Area): Place => placed(inside(outline), outline, net);

/** Where a point lies. */
export const placeAt = (x: number, y: number, net: Area): Place => placed([x, y], [Float64Array.of(x, y)], net);

function placed([x, y]: readonly [number, number], outline: Polygon, net: Area): Place {
  const outer = net.map(([ring]) => ring);
  const inner = net.reduce<Ring[]>((all, polygon) => all.concat(polygon.slice(1)), []);
  const box = boxOf(outer);
  const column = third(x, box.west, box.east, ["west", "", "east"]);
  const row = third(y, box.south, box.north, ["south", "", "north"]);
  const side = [row, column].filter((word) => word !== "").join("-") || "middle";
  let end = "";
  let along_m = 0;
  if (row !== "" && column === "") [end, along_m] = nearer(x, box.west, box.east, ["west", "east"]);
  else if (column !== "" && row === "") [end, along_m] = nearer(y, box.south, box.north, ["south", "north"]);
  const [fence_m, keep_m] = [gap(outline, outer), gap(outline, inner)];
  const beside = keep_m < fence_m && keep_m < BESIDE_M;
  return { side, end, along_m, edge: beside ? "keep-out" : "fence", inside_m: beside ? keep_m : fence_m };
}

function third(value: number, low: number, high: number, names: readonly [string, string, string]): string {
  const share = high > low ? (value - low) / (high - low) : 0.5;
  return names[Math.min(Math.max(Math.floor(share * 3), 0), 2)];
}

function nearer(value: number, low: number, high: number, names: readonly [string, string]): [string, number] {
  return value - low <= high - value ? [names[0], value - low] : [names[1], high - value];
}

/** The least distance between the corners of one and the sides of the others, both ways. */
function gap(outline: Polygon, rings: readonly Ring[]): number {
  if (rings.length === 0) return Infinity;
  let least = Infinity;
  const across = (from: readonly Ring[], to: readonly Ring[]): void => {
    for (const ring of from) for (let i = 0; i < ring.length; i += 2) least = Math.min(least, nearest(to, ring[i], ring[i + 1]).distance);
  };
  across(outline, rings);
  across(rings, outline);
  return least;
}
