// What a rank sweeps between two places of its tool.
import type { Place } from "../core/follow";

/** Corners of the piece from part `first` to part `last` of a step, as the grid wants them. */
export function swept(a: Place, b: Place, first: number, last: number, ahead_m: number, width_m: number): Float64Array {
  const quad = new Float64Array(8);
  const half = width_m / 2;
  [first, last].forEach((part, end) => {
    const heading = a.heading_rad + part * turn(a.heading_rad, b.heading_rad);
    const [c, s] = [Math.cos(heading), Math.sin(heading)];
    const x = a.x_m + part * (b.x_m - a.x_m) + ahead_m * c;
    const y = a.y_m + part * (b.y_m - a.y_m) + ahead_m * s;
    const side = end === 0 ? half : -half;
    quad.set([x - side * s, y + side * c, x + side * s, y - side * c], 4 * end);
  });
  return quad;
}

/** From one heading to the next, the shorter way round. */
export function turn(from_rad: number, to_rad: number): number {
  return Math.atan2(Math.sin(to_rad - from_rad), Math.cos(to_rad - from_rad));
}
