// When to move the lever at an edge: so many metres, and so many seconds, past it.
//
// The job paper's 3.14. With v the working speed, m the margin and the edge crossed square:
//
//     lift  = (phone to rear rank)  - v * (lever up to last seed)          + m
//     lower = (phone to front rank) - v * (lever down to seed from all)    - m
//
// both along the run, metres of the *phone* past the edge; negative is before it. Every rank has then
// seeded to m beyond the edge: *sown* is where all of them did. A count runs from the *seat*, where the eye
// is: a phone ahead of it is past the edge by so much when the seat crosses it.
import { UnsownError } from "./errors";
import { fractile } from "./fractile";
import { startDelay, stopDelay } from "./lever";
import type { Rig } from "./words";

/** How far an eye on the edge and a spoken count spread together, one sigma, m. */
export const EYE_M = 1;
/** No margin is worth less or more than this, m. */
const LEAST_M = 0.5;
const MOST_M = 3;

/** Where the phone is when the lever should move, and the same as a count; negative: before the edge. */
export interface Cue {
  readonly speed_m_s: number;
  readonly margin_m: number;
  readonly lift_m: number;
  readonly lower_m: number;
  /** Seconds from the phone's crossing to lifting, and to lowering. */
  readonly lift_s: number;
  readonly lower_s: number;
  /** The same from the seat's crossing. */
  readonly lift_count_s: number;
  readonly lower_count_s: number;
}

/** The cue of a rig at one working speed. Throws UnsownError `cue-speed` where that is not above nought. */
export function cue(rig: Rig, speed_m_s: number, margin_m: number): Cue {
  if (!(Number.isFinite(speed_m_s) && speed_m_s > 0)) {
    throw new UnsownError("cue-speed", `expected a working speed above zero, got ${speed_m_s} m/s`, {
      where: rig.name,
      hint: "Give the speed the tool is drawn at when it sows.",
    });
  }
  const { front_m, rear_m } = ranksBehind(rig);
  const lift_m = rear_m - speed_m_s * stopDelay(rig.times) + margin_m;
  const lower_m = front_m - speed_m_s * startDelay(rig.times) - margin_m;
  const [lift_s, lower_s] = [lift_m / speed_m_s, lower_m / speed_m_s];
  const seat_m = rig.phone.ahead_of_seat_m ?? 0;
  const [lift_count_s, lower_count_s] = [(lift_m - seat_m) / speed_m_s, (lower_m - seat_m) / speed_m_s];
  return { speed_m_s, margin_m, lift_m, lower_m, lift_s, lower_s, lift_count_s, lower_count_s };
}

/** Front and rear rank, metres behind the phone on the straight (negative: ahead of it). */
export function ranksBehind(rig: Rig): { front_m: number; rear_m: number } {
  let axle = rig.phone.ahead_of_axle_m;
  if (rig.kind !== "mounted") axle += rig.axle_to_pin_m + rig.tool.pin_to_axle_m;
  if (rig.cart !== null) axle += rig.cart.pin_to_axle_m + rig.cart.axle_to_pin_m;
  return { front_m: axle - rig.tool.front_rank_m, rear_m: axle - rig.tool.rear_rank_m };
}

/**
 * How much too long an end should be wished, m, kept within 0.5 to 3 m. Being short by a metre costs
 * `bare`, being long by one `twice` (any one currency, of the same area). The cheapest aim is the quantile
 * bare / (bare + twice) of the spread: the newsvendor's critical fractile (Arrow, Harris and Marschak
 * 1951). Throws UnsownError `cue-margin` where a cost or the spread is not above nought.
 */
export function margin(bare: number, twice: number, spread_m = EYE_M): number {
  if (![bare, twice, spread_m].every((x) => Number.isFinite(x) && x > 0)) {
    throw new UnsownError("cue-margin", `expected costs and a spread above zero, got ${bare}, ${twice} and ${spread_m} m`);
  }
  return Math.min(Math.max(spread_m * fractile(bare / (bare + twice)), LEAST_M), MOST_M);
}

/**
 * How well the place of something seen a while ago is known now, one sigma, m (job paper 3.9): slow drift
 * of `slow_m` that forgets itself over ten minutes, and quick noise after filtering.
 */
export function apartM(age_s: number, slow_m: number, quick_m = QUICK_M): number {
  const slow = 2 * slow_m ** 2 * (1 - Math.exp(-Math.max(age_s, 0) / DRIFT_S));
  return Math.sqrt(slow + (2 * quick_m ** 2) / QUICK_COUNT);
}

/** A phone's slow drift and quick noise where nothing better is known, m, and how long drift lasts, s. */
export const SLOW_M = 2;
const QUICK_M = 0.4;
const QUICK_COUNT = 5;
const DRIFT_S = 600;
