// Whether the speed a phone reports agrees with the way that its positions go.
//
// Some sources carry km/h or knots; some write nought, or always the same, while they drive. All is compared
// over some ten seconds, over which the noise of a position says little beside the way.
import { firstAbove, firstNotBelow, hypot, median, runningSum } from "./columns";
import type { Seen } from "./gather";
import { OFTEN_S } from "./noise";
import { marked } from "./spans";
import { JOIN_S } from "./steps";
import type { Floats } from "./words";

/** Reported speeds that differ from the way by more than this factor are not used. */
const SPEED_FITS = 1.4;
/** The way is looked at over this long, s. */
const ROUND_S = 10;
/** Slower than this is driving neither by the report nor by the way, m/s; so many rounds tell. */
const DRIVES_M_S = 1;
const ROUNDS = 30;
/** A way is plain where it is longer than this, m, than so many sigmas, and faster than this, m/s. */
const PLAIN_M = 3;
const PLAIN_SIGMAS = 6;
const PLAIN_M_S = 0.6;
/** A report that never changes by more than this, m/s, is wrong where the way is so much shorter. */
const SAME_M_S = 0.01;
const STANDS = 0.3;
/** Reports slower than this say that it stands, m/s (as in `stand`). */
const STAND_M_S = 0.25;
/**
 * No stand is so short, s; both beside it report more than this, m/s, and the way is that share of theirs and
 * so many sigmas.
 */
const SHORT_S = 4;
const BESIDE_M_S = 0.5;
const SHARE = 0.75;
const SHORT_SIGMAS = 3;
/** A phone on a stand may leap: most of the ways this long about a fix must be plain, s. */
const ABOUT_S = 15;

/** Whether the reported speed of a whole log agrees with the way; NaN where not given. */
export function fits(t: Floats, x: Floats, y: Floats, v: Floats, sigma_m: number): boolean {
  const count = runningSum(v.map((s) => (Number.isNaN(s) ? 0 : 1)));
  if (count[v.length] < ROUNDS) return true;
  const total = runningSum(v.map((s) => s || 0));
  const ratios: number[] = [];
  let short = 0;
  let apart = 0;
  for (let a = 0, b = 0; a < t.length; a++) {
    while (b < t.length && t[b] < t[a] + ROUND_S) {
      b += 1;
      if (t[b] - t[b - 1] > JOIN_S) apart = b;
    }
    const heard = count[b + 1] - count[a];
    if (b >= t.length || apart > a || !(2 * heard > b - a)) continue;
    const told = (total[b + 1] - total[a]) / heard;
    const east = x[b] - x[a];
    const north = y[b] - y[a];
    const square = east * east + north * north;
    // noise lengthens the square of a way by 4 sigma^2
    const shown = Math.sqrt(Math.max(square - 4 * sigma_m ** 2, 0)) / (t[b] - t[a]);
    if (shown < STANDS * told) short += 1;
    const plain = shown > DRIVES_M_S && square > (PLAIN_SIGMAS * sigma_m) ** 2;
    if (told > DRIVES_M_S || plain) ratios.push(shown / Math.max(told, 1e-9));
  }
  // always the same may be right while it drives, but it stands at times
  const first = v.find((s) => !Number.isNaN(s)) as number;
  if (short >= ROUNDS && !v.some((s) => Math.abs(s - first) >= SAME_M_S)) return false;
  if (ratios.length < ROUNDS) return true;
  const middle = median(ratios);
  return 1 / SPEED_FITS < middle && middle < SPEED_FITS;
}

/** The reports of standing by a phone that plainly goes on meanwhile. */
export function belied(t: Floats, x: Floats, y: Floats, v: Floats, sigma_m: number): number[] {
  const out: number[] = [];
  for (const [first, end] of marked(v.map((s) => (s < STAND_M_S ? 1 : 0)))) {
    const low = Math.max(first - 1, 0);
    const high = Math.min(end, t.length - 1);
    const at = t.subarray(first, end);
    const span = t[high] - t[low];
    const short = span <= SHORT_S && Math.min(v[low], v[high]) > BESIDE_M_S;
    const share = short ? Math.max((SHARE * (v[low] + v[high]) * span) / 2, SHORT_SIGMAS * sigma_m) : Infinity;
    const plain = runningSum(
      at.map((when) => {
        const a = Math.max(firstNotBelow(t, when - ROUND_S / 2), low);
        const b = Math.min(firstAbove(t, when + ROUND_S / 2) - 1, high);
        const way = hypot(x[b] - x[a], y[b] - y[a]);
        const plain_m = Math.max(PLAIN_M, PLAIN_SIGMAS * sigma_m, PLAIN_M_S * (t[b] - t[a]));
        return way > Math.min(plain_m, share) ? 1 : 0;
      }),
    );
    at.forEach((when, k) => {
      const [lo, hi] = [firstNotBelow(at, when - ABOUT_S), firstAbove(at, when + ABOUT_S)];
      if (2 * (plain[hi] - plain[lo]) > hi - lo) out.push(first + k);
    });
  }
  return out;
}

/**
 * The way by reported speed and course alone, x and y, m: free of the positions' noise. A step is as the
 * positions have it where either report is missing or the fixes are seldom.
 */
export function deadReckoned({ t_s: t, x_m, y_m, speed_m_s, course_rad }: Seen): [Floats, Floats] {
  const along = (at: Floats, part: (rad: number) => number): Floats => {
    const told = speed_m_s.map((v, i) => v * part(course_rad[i]));
    const steps = told.subarray(1).map((next, k) => {
      const dt = t[k + 1] - t[k];
      const step = (dt / 2) * (told[k] + next);
      return dt <= OFTEN_S && Number.isFinite(step) ? step : at[k + 1] - at[k];
    });
    return runningSum(steps);
  };
  return [along(x_m, Math.cos), along(y_m, Math.sin)];
}
