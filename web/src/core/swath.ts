// Ground of a straight run: a rectangle along a heading, and how much of some area lies in it. No overlay is
// needed: a ring cut to a rectangle keeps its area whatever its shape, because what the cut joins has none.
import { areaOf, boxOf, holds, signedArea, type Box } from "./rings";
import type { Area, Ring } from "./words";

/** A rectangle along a heading: from and to along it, right and left of it, m. */
export interface Swath {
  readonly from: number;
  readonly to: number;
  readonly right: number;
  readonly left: number;
}

/** Rings with the boxes that they lie in, so that most need not be looked at. */
export class Ground {
  private readonly rings: readonly { readonly ring: Ring; readonly box: Box }[];

  /** Outer rings anticlockwise, holes clockwise. */
  constructor(rings: readonly Ring[]) {
    this.rings = rings.map((ring) => ({ ring, box: boxOf([ring]) }));
  }

  /** Area within rectangles that share no ground, all along one heading, m². */
  within(swaths: readonly Swath[], heading_rad: number): number {
    const [c, s] = [Math.cos(heading_rad), Math.sin(heading_rad)];
    let sum = 0;
    for (const swath of swaths) {
      const box = boxOf([cornersOf(swath, c, s)]);
      for (const { ring, box: other } of this.rings) {
        const apart =
          box.east < other.west || other.east < box.west || box.north < other.south || other.north < box.south;
        if (!apart) sum += meets(ring, box) ? cutArea(ring, c, s, swath) : wholeArea(ring, c, s, swath);
      }
    }
    return sum;
  }
}

/** Whether an edge of a ring may meet what lies in a box. */
export function meets(ring: Ring, { west, south, east, north }: Box): boolean {
  const n = ring.length;
  for (let i = 0, j = n - 2; i < n; j = i, i += 2) {
    const aside = (ring[i] < west && ring[j] < west) || (ring[i] > east && ring[j] > east);
    const off = (ring[i + 1] < south && ring[j + 1] < south) || (ring[i + 1] > north && ring[j + 1] > north);
    if (aside || off) continue;
    const [dx, dy] = [ring[i] - ring[j], ring[i + 1] - ring[j + 1]];
    const over = dx * (south + north - 2 * ring[j + 1]) - dy * (west + east - 2 * ring[j]);
    if (Math.abs(over) <= Math.abs(dx) * (north - south) + Math.abs(dy) * (east - west)) return true;
  }
  return false;
}

/** The same as `cutArea` where no edge is near: all of the rectangle, or nothing. */
function wholeArea(ring: Ring, c: number, s: number, { from, to, right, left }: Swath): number {
  const [along, aside] = [(from + to) / 2, (right + left) / 2];
  if (!holds([ring], c * along - s * aside, s * along + c * aside)) return 0;
  return Math.sign(signedArea(ring)) * (to - from) * (left - right);
}

function cornersOf({ from, to, right, left }: Swath, c: number, s: number): Ring {
  const out = new Float64Array(8);
  [[from, right], [to, right], [to, left], [from, left]].forEach(([w, a], i) => {
    out[2 * i] = c * w - s * a;
    out[2 * i + 1] = s * w + c * a;
  });
  return out;
}

/** Signed area of a ring's part in a rectangle (I. Sutherland and G. Hodgman, CACM 17 (1974), 32-42). */
function cutArea(ring: Ring, c: number, s: number, { from, to, right, left }: Swath): number {
  let at: number[] = [];
  for (let i = 0; i < ring.length; i += 2) {
    at.push(c * ring[i] + s * ring[i + 1] - from, c * ring[i + 1] - s * ring[i] - right);
  }
  at = cut(at, 0, 1, 0);
  at = cut(at, 0, -1, from - to);
  at = cut(at, 1, 1, 0);
  at = cut(at, 1, -1, right - left);
  let twice = 0;
  const n = at.length;
  for (let i = 0, j = n - 2; i < n; j = i, i += 2) twice += at[j] * at[i + 1] - at[i] * at[j + 1];
  return twice / 2;
}

/** The part of a ring where `sign` × the coordinate is not below a bound. */
function cut(ring: readonly number[], axis: 0 | 1, sign: 1 | -1, bound: number): number[] {
  const n = ring.length;
  const out: number[] = [];
  for (let i = 0, j = n - 2; i < n; j = i, i += 2) {
    const [was, is] = [sign * ring[j + axis] - bound, sign * ring[i + axis] - bound];
    if (was >= 0 !== is >= 0) {
      const part = was / (was - is);
      out.push(ring[j] + part * (ring[i] - ring[j]), ring[j + 1] + part * (ring[i + 1] - ring[j + 1]));
    }
    if (is >= 0) out.push(ring[i], ring[i + 1]);
  }
  return out;
}

/** What is left of a rectangle without others along the same heading: rectangles that share no ground. */
export function without(swath: Swath, others: readonly Swath[]): Swath[] {
  let left = [swath];
  for (const other of others) {
    left = left.reduce<Swath[]>((all, one) => all.concat(less(one, other)), []);
  }
  return left;
}

function less(one: Swath, other: Swath): Swath[] {
  const from = Math.max(one.from, other.from);
  const to = Math.min(one.to, other.to);
  const right = Math.max(one.right, other.right);
  const left = Math.min(one.left, other.left);
  if (from >= to || right >= left) return [one];
  return [
    { ...one, to: from },
    { ...one, from: to },
    { from, to, right: one.right, left: right },
    { from, to, right: left, left: one.left },
  ].filter((part) => part.to > part.from && part.left > part.right);
}

/** Middle of an area's weight: its holes count. */
export function centroid(area: Area): readonly [number, number] {
  let [sum, x, y] = [0, 0, 0];
  const [x0, y0] = [area[0][0][0], area[0][0][1]];
  for (const polygon of area) {
    polygon.forEach((ring, r) => {
      const n = ring.length;
      let [cross, cx, cy] = [0, 0, 0];
      for (let i = 0, j = n - 2; i < n; j = i, i += 2) {
        const [ax, ay, bx, by] = [ring[j] - x0, ring[j + 1] - y0, ring[i] - x0, ring[i + 1] - y0];
        const part = ax * by - bx * ay;
        cross += part;
        cx += part * (ax + bx);
        cy += part * (ay + by);
      }
      const sign = cross > 0 === (r === 0) ? 1 : -1;
      sum += sign * cross;
      x += sign * cx;
      y += sign * cy;
    });
  }
  return areaOf(area) === 0 ? [x0, y0] : [x0 + x / (3 * sum), y0 + y / (3 * sum)];
}
