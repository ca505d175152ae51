// What rings on the plane are asked: area, length, what lies inside, how far off, fewer points.
// A ring is x0, y0, x1, y1, … and closes by itself; areas are square metres, lengths metres.
import { hypot } from "./columns";
import type { Area, Polygon, Ring } from "./words";

/** Area with its sign: positive where the ring runs anticlockwise. */
export function signedArea(ring: Ring): number {
  const n = ring.length;
  if (n < 6) return 0;
  // from the first corner, so that far from the origin nothing is lost
  const x0 = ring[0];
  const y0 = ring[1];
  let twice = 0;
  for (let i = 2; i + 3 < n; i += 2) {
    twice += (ring[i] - x0) * (ring[i + 3] - y0) - (ring[i + 2] - x0) * (ring[i + 1] - y0);
  }
  return twice / 2;
}

/** Area of a polygon: its outer ring less its holes, however they run. */
export function polygonArea(polygon: Polygon): number {
  return polygon.reduce(
    (sum, ring, i) => sum + (i === 0 ? 1 : -1) * Math.abs(signedArea(ring)),
    0,
  );
}

/** Area of polygons that share no ground. */
export function areaOf(area: Area): number {
  return area.reduce((sum, polygon) => sum + polygonArea(polygon), 0);
}

/** Length of a ring all the way round. */
export function lengthOf(ring: Ring): number {
  const n = ring.length;
  let length = 0;
  for (let i = 0, j = n - 2; i < n; j = i, i += 2) {
    length += hypot(ring[i] - ring[j], ring[i + 1] - ring[j + 1]);
  }
  return length;
}

/** The ring run the other way. */
export function reversed(ring: Ring): Ring {
  const n = ring.length;
  const out = new Float64Array(n);
  for (let i = 0; i < n; i += 2) {
    out[i] = ring[n - 2 - i];
    out[i + 1] = ring[n - 1 - i];
  }
  return out;
}

/** All rings of an area, outer ones anticlockwise and holes clockwise. */
export function ringsOf(area: Area): Ring[] {
  const out: Ring[] = [];
  for (const polygon of area) {
    polygon.forEach((ring, i) => {
      const positive = signedArea(ring) > 0;
      out.push(positive === (i === 0) ? ring : reversed(ring));
    });
  }
  return out;
}

/** Smallest and largest x and y. */
export interface Box {
  readonly west: number;
  readonly south: number;
  readonly east: number;
  readonly north: number;
}

/** The box of some rings, along a direction of this cosine and sine; inside out (west above east) of none. */
export function boxOf(rings: readonly Ring[], c = 1, s = 0): Box {
  let west = Infinity;
  let south = Infinity;
  let east = -Infinity;
  let north = -Infinity;
  for (const ring of rings) {
    for (let i = 0; i < ring.length; i += 2) {
      const x = c * ring[i] + s * ring[i + 1];
      const y = c * ring[i + 1] - s * ring[i];
      if (x < west) west = x;
      if (x > east) east = x;
      if (y < south) south = y;
      if (y > north) north = y;
    }
  }
  return { west, south, east, north };
}

/** How far apart two boxes are at least, m. */
export function apart(a: Box, b: Box): number {
  return Math.max(a.west - b.east, b.west - a.east, a.south - b.north, b.south - a.north, 0);
}

/** Whether a point lies inside by the even-odd rule, holes being rings like others. */
export function holds(rings: readonly Ring[], x: number, y: number): boolean {
  let inside = false;
  for (const ring of rings) {
    const n = ring.length;
    for (let i = 0, j = n - 2; i < n; j = i, i += 2) {
      const ya = ring[j + 1];
      const yb = ring[i + 1];
      if (ya > y !== yb > y && x < ring[j] + ((y - ya) / (yb - ya)) * (ring[i] - ring[j])) {
        inside = !inside;
      }
    }
  }
  return inside;
}

/** The nearest place on some rings to a point, and how far off it is; infinitely far of none. */
export function nearest(
  rings: readonly Ring[],
  x: number,
  y: number,
): { x: number; y: number; distance: number } {
  let best = Infinity;
  let bx = Number.NaN;
  let by = Number.NaN;
  for (const ring of rings) {
    const n = ring.length;
    for (let i = 0, j = n - 2; i < n; j = i, i += 2) {
      const dx = ring[i] - ring[j];
      const dy = ring[i + 1] - ring[j + 1];
      const square = dx * dx + dy * dy;
      let part = square > 0 ? ((x - ring[j]) * dx + (y - ring[j + 1]) * dy) / square : 0;
      part = part < 0 ? 0 : part > 1 ? 1 : part;
      const px = ring[j] + part * dx;
      const py = ring[j + 1] + part * dy;
      const off = (x - px) * (x - px) + (y - py) * (y - py);
      if (off < best) [best, bx, by] = [off, px, py];
    }
  }
  return { x: bx, y: by, distance: Math.sqrt(best) };
}

/**
 * A ring with the corners left out that the others stand for within `within_m` (D. Douglas and
 * T. Peucker, The Canadian Cartographer 10 (1973), 112-122); the first corner stays. A ring that
 * would fall to a line comes back as it was.
 */
export function thinnedRing(ring: Ring, within_m: number): Ring {
  const n = ring.length / 2;
  if (n < 4) return ring;
  const keep = new Uint8Array(n + 1);
  keep[0] = keep[n] = 1;
  const limit = within_m * within_m;
  const stack = [0, n];
  const at = (i: number): number => (i === n ? 0 : 2 * i);
  while (stack.length > 0) {
    const last = stack.pop() as number;
    const first = stack.pop() as number;
    const ax = ring[at(first)];
    const ay = ring[at(first) + 1];
    const dx = ring[at(last)] - ax;
    const dy = ring[at(last) + 1] - ay;
    const square = dx * dx + dy * dy;
    let worst = limit;
    let where = -1;
    for (let i = first + 1; i < last; i++) {
      const px = ring[2 * i] - ax;
      const py = ring[2 * i + 1] - ay;
      let part = square > 0 ? (px * dx + py * dy) / square : 0;
      part = part < 0 ? 0 : part > 1 ? 1 : part;
      const x = px - part * dx;
      const y = py - part * dy;
      const off = x * x + y * y;
      if (off <= worst) continue;
      worst = off;
      where = i;
    }
    if (where < 0) continue;
    keep[where] = 1;
    stack.push(first, where, where, last);
  }
  const out: number[] = [];
  for (let i = 0; i < n; i++) if (keep[i]) out.push(ring[2 * i], ring[2 * i + 1]);
  return out.length < 6 ? ring : Float64Array.from(out);
}

/**
 * The convex hull of all corners, anticlockwise (A. Andrew, "Another efficient algorithm for convex hulls
 * in two dimensions", Information Processing Letters 9 (1979), 216-219).
 */
export function hull(rings: readonly Ring[]): Ring {
  const points: Point[] = [];
  for (const ring of rings) {
    for (let i = 0; i < ring.length; i += 2) points.push([ring[i], ring[i + 1]]);
  }
  points.sort((p, q) => p[0] - q[0] || p[1] - q[1]);
  const ring = [...halfHull(points), ...halfHull([...points].reverse())];
  const out = new Float64Array(2 * ring.length);
  ring.forEach((p, i) => out.set(p, 2 * i));
  return out;
}

type Point = readonly [number, number];

/** The points that only turn left, without the last. */
function halfHull(points: readonly Point[]): Point[] {
  const chain: Point[] = [];
  for (const p of points) {
    while (chain.length > 1) {
      const [o, q] = [chain[chain.length - 2], chain[chain.length - 1]];
      if ((q[0] - o[0]) * (p[1] - o[1]) - (q[1] - o[1]) * (p[0] - o[0]) > 0) break;
      chain.pop();
    }
    chain.push(p);
  }
  return chain.slice(0, -1);
}
