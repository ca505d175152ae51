// When to sound at an edge, and what to count. The count is for the eye; the tone sounds only where the
// edge is known well enough to be worth more than an eye (job paper 3.14).
import { cue, EYE_M } from "../../core/cue";
import type { Now } from "../live";
import type { Rig, Times } from "../../core/words";
import { marginOf } from "./costs";

type Prices = Readonly<Record<string, number | null>> | null;

/** An edge known worse than this has no tone, m. */
export const TONE_M = 1.2;
/** From the tone to the hand, s. */
const REACT_S = 0.8;
/** What lies further ahead is looked at again with the next position, s. */
const SOON_S = 1.2;
/** A cue missed by more than this is not sounded any more, s. */
const LATE_S = 1;

const lifts = ({ raise_s }: Times): boolean => raise_s > 0;
const lowers = ({ lower_s, meter_s, fill_s }: Times): boolean => lower_s + meter_s + fill_s > 0;

/** What to count at the day's speed: seconds past the seat's crossing to lift, before it to lower. */
export interface Count {
  readonly lift_s: number | null;
  readonly lower_s: number | null;
}

/** Null where the speed is not known yet, or the card has no times. */
export function countOf(rig: Rig | null, speed_m_s: number, prices: Prices): Count | null {
  if (rig === null || !(speed_m_s > 0)) return null;
  const found = cue(rig, speed_m_s, marginOf(prices, rig, speed_m_s, EYE_M));
  const count = { lift_s: lifts(rig.times) ? found.lift_count_s : null, lower_s: lowers(rig.times) ? found.lower_count_s : null };
  return count.lift_s === null && count.lower_s === null ? null : count;
}

/** When the lever must move for seed to begin or to end at the edge that is seen, as fast as it goes. */
export function edgeTime({ edge, rig, down, speed_m_s, t_ms }: Now): { down: boolean; ms: number } | null {
  if (edge === null || rig === null) return null;
  const { lift_m, lower_m } = cue(rig, speed_m_s, 0);
  return { down, ms: Math.round(t_ms + (1000 * ((down ? lift_m : lower_m) - edge.past_m)) / speed_m_s) };
}

/** Tells once an approach when to sound. */
export class Cuer {
  private done = false;
  private was = false;

  /** The sign and in how many seconds; null: not now. `age_s`: how old the position is. */
  step(now: Now, prices: Prices, age_s: number): { sign: "lift" | "lower"; in_s: number } | null {
    const { edge, rig, speed_m_s, down } = now;
    if (down !== this.was || edge === null) this.done = false;
    this.was = down;
    if (this.done || edge === null || rig === null || !(speed_m_s > 0.5) || edge.sigma_m >= TONE_M) return null;
    if (!(down ? lifts(rig.times) : lowers(rig.times))) return null;
    const found = cue(rig, speed_m_s, marginOf(prices, rig, speed_m_s, edge.sigma_m));
    const left_m = (down ? found.lift_m : found.lower_m) - edge.past_m;
    const in_s = left_m / speed_m_s - REACT_S - age_s;
    if (in_s > SOON_S) return null;
    this.done = true;
    return in_s < -LATE_S ? null : { sign: down ? "lift" : "lower", in_s: Math.max(0, in_s) };
  }
}
