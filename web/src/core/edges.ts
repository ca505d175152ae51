// What the fence and the headland say of the drift: the outermost lap and the ends of runs.
//
// The first lap lies half a width inside the fence, and runs end at the headland's inner edge.
import { taken } from "./columns";
import { flat } from "./cover";
import { Near } from "./near";
import { holds, nearest } from "./rings";
import { AGO_S, CHAIN, SAMPLE_M, noGaps, oneWidth, select } from "./samples";
import type { Gaps, Samples } from "./samples";
import { unbroken } from "./spans";
import type { Area, Flags } from "./words";

const radians = (degrees: number): number => (degrees * Math.PI) / 180;
/** The lap runs along the fence within this; a hidden sample's other run within that. */
const [ALONG_FENCE, LEVEL] = [Math.sin(radians(12)), Math.sin(radians(20))];
/** A headland run crosses the end of a run at least at this angle. */
const CROSSES = Math.sin(radians(35));
/** Runs lifted at a headland run keep a smaller middle gap to it, in widths. */
const APART_W = 0.6;
/** A run this much nearer to the fence, in widths, is the lap; the one inside it is the next. */
const OUTSIDE_W = 0.1;

/** One observed gap: its samples, and the direction that counts for each of them. */
interface Seen {
  readonly gap: number;
  readonly who: readonly [number, number, number];
  readonly east: readonly [number, number, number];
  readonly north: readonly [number, number, number];
  readonly width: number;
}

/**
 * Gaps between the outermost lap and the boundary (positive: bare along the fence).
 *
 * Rows of one stretch count when their middle gap is below `mostW` of a width and no other run lies
 * between them and the fence. Only samples within `reachW` widths are looked at; one logged outside
 * the fence counts with a negative distance.
 */
export function fence(s: Samples, boundary: Area, mostW: number, reachW = 1.1): Gaps {
  const fences = boundary.map((polygon) => polygon[0]);
  const inside = boundary.reduce<Float64Array[]>((all, polygon) => all.concat(polygon), []);
  if (s.t_s.length === 0 || fences.length === 0) return noGaps();
  const beside = new Near(s.x_m, s.y_m, 30);
  const seen: Seen[] = [];
  for (let i = 0; i < s.t_s.length; i++) {
    const [x, y, width] = [s.x_m[i], s.y_m[i], s.width_m[i]];
    const foot = nearest(fences, x, y);
    if (!(foot.distance < reachW * width) || foot.distance <= 0.3) continue;
    const sign = holds(inside, x, y) ? 1 : -1;
    const ox = (sign * (foot.x - x)) / foot.distance;
    const oy = (sign * (foot.y - y)) / foot.distance;
    const along = Math.abs(Math.cos(s.heading_rad[i]) * ox + Math.sin(s.heading_rad[i]) * oy);
    if (along >= ALONG_FENCE || hidden(s, beside, i, ox, oy)) continue;
    const gap = sign * foot.distance - width / 2;
    seen.push({ gap, who: [i, i, i], east: [ox, 0, 0], north: [oy, 0, 0], width });
  }
  let chain = 0;
  const rows = gapsOf(seen, (one, k) => {
    const [at, before] = [one.who[0], seen[Math.max(k - 1, 0)].who[0]];
    if (k === 0 || at - before !== 1 || s.stretch[at] !== s.stretch[before]) chain += 1;
    return chain;
  });
  return select(rows, oneWidth(rows, rows.gap_m, mostW));
}

/** Whether another run lies between a sample and the fence in direction (ox, oy). */
function hidden(s: Samples, beside: Near, i: number, ox: number, oy: number): boolean {
  return beside.within(s.x_m[i], s.y_m[i], 1.3 * s.width_m[i]).some((j) => {
    const [dx, dy] = [s.x_m[j] - s.x_m[i], s.y_m[j] - s.y_m[i]];
    return (
      Math.abs(s.t_s[j] - s.t_s[i]) > AGO_S &&
      Math.abs(Math.sin(s.heading_rad[j] - s.heading_rad[i])) < LEVEL &&
      dx * ox + dy * oy > OUTSIDE_W * s.width_m[i] &&
      Math.abs(dx * oy - dy * ox) < SAMPLE_M
    );
  });
}

/**
 * Gaps between the ends of runs and the crossing headland, and which of them are starts.
 *
 * Where most runs keep about a width away from a headland run they were lifted at another, which
 * is not in the picture: in doubt, or driven with the tool up. Such rows would draw what is there
 * into its place. `halfBar_m` is from the middle of the ranks to the front and to the rear rank.
 */
export function ends(s: Samples, halfBar_m: number): { gaps: Gaps; starts: Flags } {
  const seen: Seen[] = [];
  const starts: number[] = [];
  const near = new Near(s.x_m, s.y_m, 30);
  for (const [first, end] of unbroken(s.stretch)) {
    if (end - first <= CHAIN) continue;
    for (const [at, sign] of [
      [first, -1],
      [end - 1, 1],
    ]) {
      const found = crossing(s, near, at, sign, halfBar_m);
      if (found === null) continue;
      seen.push(found);
      starts.push(sign < 0 ? 1 : 0);
    }
  }
  const gaps = gapsOf(seen, (one) => s.stretch[one.who[1]]);
  const beside = oneWidth(gaps, gaps.gap_m, APART_W);
  return { gaps: select(gaps, beside), starts: taken(Uint8Array.from(starts), beside) };
}

/**
 * The innermost headland run that crosses an end of a run, and the gap to its edge.
 *
 * The innermost, not the one that fits best: laps lie a width apart, and the best fit would tie a
 * drifted picture to the wrong one.
 */
function crossing(
  s: Samples,
  near: Near,
  at: number,
  sign: number,
  halfBar_m: number,
): Seen | null {
  const ux = sign * Math.cos(s.heading_rad[at]);
  const uy = sign * Math.sin(s.heading_rad[at]);
  const width = s.width_m[at];
  const found: { j: number; ahead: number; beside: number; e: number; n: number; facing: number }[] = [];
  for (const j of near.within(s.x_m[at], s.y_m[at], 3 * width)) {
    if (s.run[j] === s.run[at] || Math.abs(s.t_s[j] - s.t_s[at]) <= AGO_S) continue;
    const [nx, ny] = [-Math.sin(s.heading_rad[j]), Math.cos(s.heading_rad[j])];
    const along = nx * ux + ny * uy;
    const facing = Math.abs(along);
    if (facing <= CROSSES) continue;
    const [dx, dy] = [s.x_m[j] - s.x_m[at], s.y_m[j] - s.y_m[at]];
    const ahead = (nx * dx + ny * dy) / along;
    const beside = Math.abs(dx * uy - dy * ux);
    if (beside >= 1.5 * SAMPLE_M || ahead <= -2 * width) continue;
    found.push({ j, ahead, beside, e: nx / along, n: ny / along, facing });
  }
  const inner = found.reduce((least, one) => Math.min(least, one.ahead), Infinity);
  const [best] = found
    .filter((one) => one.ahead < inner + 0.3 * width)
    .sort((a, b) => a.beside - b.beside || a.j - b.j);
  if (best === undefined) return null;
  const gap = best.ahead - s.width_m[best.j] / 2 / best.facing + halfBar_m;
  if (Math.abs(gap) > 1.2 * width) return null;
  const { e, n } = best;
  return { gap, who: [at, best.j, best.j], east: [e, -e, 0], north: [n, -n, 0], width };
}

/** Observed gaps as rows, numbered into chains. */
function gapsOf(seen: readonly Seen[], chain: (one: Seen, k: number) => number): Gaps {
  const threes = (pick: (one: Seen) => readonly number[]): number[] => flat(seen.map(pick));
  return {
    gap_m: Float64Array.from(seen, (one) => one.gap),
    who: Int32Array.from(threes((one) => one.who)),
    east: Float64Array.from(threes((one) => one.east)),
    north: Float64Array.from(threes((one) => one.north)),
    chain: Int32Array.from(seen, chain),
    width_m: Float64Array.from(seen, (one) => one.width),
  };
}
