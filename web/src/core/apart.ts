// Whether two shapes come near each other. A shape is some rings united by the nonzero rule, outer ones
// anticlockwise and holes clockwise; a ring of two points is a line, of one a point.
import { hypot } from "./columns";
import { boxOf } from "./rings";
import type { Ring } from "./words";

/** Whether two shapes come within a distance, m, of each other. */
export function within(rings: readonly Ring[], others: readonly Ring[], reach_m: number): boolean {
  return (
    others.some((other) => other.length > 0 && encloses(rings, other[0], other[1])) ||
    rings.some((ring) => ring.length > 0 && encloses(others, ring[0], ring[1])) ||
    besideLines(rings, others, reach_m)
  );
}

/** Whether the lines of some rings come within a distance, m, of the lines of others. */
export function besideLines(
  rings: readonly Ring[],
  lines: readonly Ring[],
  reach_m: number,
): boolean {
  return rings.some((ring) => lines.some((line) => near(ring, line, reach_m)));
}

/** Whether the rings wind round a point. */
function encloses(rings: readonly Ring[], x: number, y: number): boolean {
  let turns = 0;
  for (const ring of rings) {
    const n = ring.length;
    for (let i = 0, j = n - 2; i < n; j = i, i += 2) {
      const up = ring[j + 1] <= y;
      if (up === ring[i + 1] <= y) continue;
      const side = sideOf(ring[j], ring[j + 1], ring[i], ring[i + 1], x, y);
      if (up && side > 0) turns += 1;
      if (!up && side < 0) turns -= 1;
    }
  }
  return turns !== 0;
}

/** Whether two rings come within a distance of each other. */
function near(ring: Ring, other: Ring, reach_m: number): boolean {
  const [n, m] = [ring.length, other.length];
  const { west, south, east, north } = boxOf([ring]);
  for (let k = 0, j = m - 2; k < m; j = k, k += 2) {
    const cx = other[j];
    const cy = other[j + 1];
    const dx = other[k];
    const dy = other[k + 1];
    const left = Math.min(cx, dx) - reach_m;
    const right = Math.max(cx, dx) + reach_m;
    const below = Math.min(cy, dy) - reach_m;
    const over = Math.max(cy, dy) + reach_m;
    // most edges of the other come near none of the ring's
    if (east < left || west > right || north < below || south > over) continue;
    for (let i = 0, h = n - 2; i < n; h = i, i += 2) {
      const ax = ring[h];
      const ay = ring[h + 1];
      const bx = ring[i];
      const by = ring[i + 1];
      if ((ax < left && bx < left) || (ax > right && bx > right)) continue;
      if ((ay < below && by < below) || (ay > over && by > over)) continue;
      const c = sideOf(ax, ay, bx, by, cx, cy) > 0;
      const a = sideOf(cx, cy, dx, dy, ax, ay) > 0;
      const crossed =
        c !== sideOf(ax, ay, bx, by, dx, dy) > 0 && a !== sideOf(cx, cy, dx, dy, bx, by) > 0;
      const least = Math.min(
        toSegment(ax, ay, cx, cy, dx, dy),
        toSegment(bx, by, cx, cy, dx, dy),
        toSegment(cx, cy, ax, ay, bx, by),
        toSegment(dx, dy, ax, ay, bx, by),
      );
      if (crossed || least <= reach_m) return true;
    }
  }
  return false;
}

/** Above nought where (x, y) lies left of the line from a to b. */
function sideOf(ax: number, ay: number, bx: number, by: number, x: number, y: number): number {
  return (bx - ax) * (y - ay) - (by - ay) * (x - ax);
}

/** Distance of (x, y) from the segment a to b, m. */
function toSegment(x: number, y: number, ax: number, ay: number, bx: number, by: number): number {
  const [dx, dy] = [bx - ax, by - ay];
  const square = dx * dx + dy * dy;
  let part = square > 0 ? ((x - ax) * dx + (y - ay) * dy) / square : 0;
  part = part < 0 ? 0 : part > 1 ? 1 : part;
  return hypot(x - ax - part * dx, y - ay - part * dy);
}
