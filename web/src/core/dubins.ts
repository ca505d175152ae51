// Shortest ways between two poses for a vehicle that only goes forward and turns no tighter.
//
// Dubins 1957; the six words in the closed form of Shkel and Lumelsky 2001, "Classification of the Dubins
// set" (lengths in units of the turning radius, start at the origin of the chord).
import { hypot, modulo } from "./columns";
import type { Floats } from "./words";

/** East and north, m; heading, radians. */
export type Pose = readonly [number, number, number];

const TURN = 2 * Math.PI;

/** One way: its word, and the length of each of the three parts, m. */
export interface Dubins {
  readonly start: Pose;
  readonly radius_m: number;
  readonly word: string;
  readonly parts_m: readonly [number, number, number];
  readonly length_m: number;
}

/** Straight ahead from a pose. */
export function straight(start: Pose, length_m: number): Dubins {
  return { start, radius_m: 1, word: "LSL", parts_m: [0, length_m, 0], length_m };
}

/** The pose `s` metres into a part that begins at a pose. */
export function along([x, y, h]: Pose, letter: string, radius_m: number, s: number): Pose {
  if (letter === "S") return [x + s * Math.cos(h), y + s * Math.sin(h), h];
  const bend = (letter === "L" ? 1 : -1) / radius_m;
  const turned = h + bend * s;
  return [
    x + (Math.sin(turned) - Math.sin(h)) / bend,
    y - (Math.cos(turned) - Math.cos(h)) / bend,
    turned,
  ];
}

/** Steps of a part of a way that are about `step_m` long. */
export const stepsOf = (length_m: number, step_m: number): number =>
  Math.max(Math.ceil(length_m / step_m), 1);

/** Poses along the way, x, y, heading by turns, first and last included, about `step_m` apart. */
export function posesOf(way: Dubins, step_m: number): Floats {
  const out: number[] = [...way.start];
  let from = way.start;
  for (let part = 0; part < 3; part++) {
    const length = way.parts_m[part];
    if (length <= 0) continue;
    const n = stepsOf(length, step_m);
    let to = from;
    for (let k = 1; k <= n; k++) {
      to = along(from, way.word[part], way.radius_m, (length * k) / n);
      out.push(...to);
    }
    from = to;
  }
  return Float64Array.from(out);
}

/** The shortest way from one pose to another; the tightest turn is above nought. */
export const dubins = (start: Pose, end: Pose, radius_m: number): Dubins =>
  ways(start, end, radius_m)[0];

/** The way of every word that joins the two poses, the shortest first. */
export function ways(start: Pose, end: Pose, radius_m: number): Dubins[] {
  if (!(radius_m > 0)) {
    throw new RangeError(`a turning radius above 0 m was expected, ${radius_m} came`);
  }
  const [dx, dy] = [end[0] - start[0], end[1] - start[1]];
  const d = hypot(dx, dy) / radius_m;
  const way = d > 0 ? Math.atan2(dy, dx) : 0;
  const out = words(d, modulo(start[2] - way, TURN), modulo(end[2] - way, TURN)).map(
    ([word, p, q, r]): Dubins => ({
      start,
      radius_m,
      word,
      parts_m: [p * radius_m, q * radius_m, r * radius_m],
      length_m: p * radius_m + q * radius_m + r * radius_m,
    }),
  );
  return out.sort((a, b) => a.length_m - b.length_m);
}

type Word = readonly [string, number, number, number];

/**
 * Every word that joins the two poses with its parts in radii: `d` the chord in radii, `a` and `b` the
 * headings at its ends from the chord's direction, radians.
 */
function words(d: number, a: number, b: number): Word[] {
  const [sa, sb, ca, cb, cab] = [Math.sin(a), Math.sin(b), Math.cos(a), Math.cos(b), Math.cos(a - b)];
  const out: Word[] = [];
  let p2 = 2 + d * d - 2 * cab + 2 * d * (sa - sb);
  if (p2 >= 0) {
    const t = Math.atan2(cb - ca, d + sa - sb);
    out.push(["LSL", round(t - a), Math.sqrt(p2), round(b - t)]);
  }
  p2 = 2 + d * d - 2 * cab + 2 * d * (sb - sa);
  if (p2 >= 0) {
    const t = Math.atan2(ca - cb, d - sa + sb);
    out.push(["RSR", round(a - t), Math.sqrt(p2), round(t - b)]);
  }
  p2 = -2 + d * d + 2 * cab + 2 * d * (sa + sb);
  if (p2 >= 0) {
    const p = Math.sqrt(p2);
    const t = Math.atan2(-ca - cb, d + sa + sb) - Math.atan2(-2, p);
    out.push(["LSR", round(t - a), p, round(t - b)]);
  }
  p2 = -2 + d * d + 2 * cab - 2 * d * (sa + sb);
  if (p2 >= 0) {
    const p = Math.sqrt(p2);
    const t = Math.atan2(ca + cb, d - sa - sb) - Math.atan2(2, p);
    out.push(["RSL", round(a - t), p, round(b - t)]);
  }
  let c = (6 - d * d + 2 * cab + 2 * d * (sa - sb)) / 8;
  if (Math.abs(c) <= 1) {
    const p = TURN - Math.acos(c);
    const t = round(a - Math.atan2(ca - cb, d - sa + sb) + p / 2);
    out.push(["RLR", t, p, round(a - b - t + p)]);
  }
  c = (6 - d * d + 2 * cab + 2 * d * (sb - sa)) / 8;
  if (Math.abs(c) <= 1) {
    const p = TURN - Math.acos(c);
    const t = round(-a + Math.atan2(cb - ca, d + sa - sb) + p / 2);
    out.push(["LRL", t, p, round(b - a - t + p)]);
  }
  return out;
}

/** An angle in [0, 2π), where a rounding error below nought is nought. */
function round(angle: number): number {
  const turned = modulo(angle, TURN);
  return TURN - turned < 1e-9 ? 0 : turned;
}
