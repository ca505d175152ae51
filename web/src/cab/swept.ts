// What a rank sweeps between two places of its tool.
import type { Place } from "../core/follow";

/** Corners of the piece from part `first` to part `last` of a step, as the grid wants them. */
export function swept(a: Place, b: Place, first: number, last: number, ahead_m: number, width_m: number): Float64Array {
  const quad = new Float64Array(8);
  const by = turn(a.heading_rad, b.heading_rad);
  // written out: a day is painted anew, step by step, while the driver waits for it
  for (let end = 0; end < 2; end++) {
    const part = end === 0 ? first : last;
    const heading = a.heading_rad + part * by;
    const c = Math.cos(heading);
    const s = Math.sin(heading);
    const x = a.x_m + part * (b.x_m - a.x_m) + ahead_m * c;
    const y = a.y_m + part * (b.y_m - a.y_m) + ahead_m * s;
    const side = end === 0 ? width_m / 2 : -width_m / 2;
    quad[4 * end] = x - side * s;
    quad[4 * end + 1] = y + side * c;
    quad[4 * end + 2] = x + side * s;
    quad[4 * end + 3] = y - side * c;
  }
  return quad;
}

/** From one heading to the next, the shorter way round. */
export function turn(from_rad: number, to_rad: number): number {
  return Math.atan2(Math.sin(to_rad - from_rad), Math.cos(to_rad - from_rad));
}
