// When the paddock will be done: what was not reached yet, at the pace so far.
import { hoursLeft, paceHaH, paces, spreadH } from "../core/capacity";
import { type Seeded, seededAt } from "../core/ledger";

/** A pause of this length ends a day's work, s. */
const NIGHT_S = 4 * 3600;
/** The pace of so much lately is drawn to that of the day, s. */
const RECENT_S = 7200;
/** Less is no ground to go on for, ha. */
const LEAST_HA = 0.05;

export interface Finish {
  readonly left_ha: number;
  /** New ground in an hour, stops and fills as they were. */
  readonly ha_h: number;
  readonly hours: number;
  /** Eight times in ten no further off than this, h; null: too little to tell by. */
  readonly spread_h: number | null;
}

/** Null: nothing is left but loose ends, or nothing was sown. `sown_ha` is what `seeded` came to as new ground. */
export function finishOf(left_ha: number, sown_ha: number, seeded: Seeded): Finish | null {
  const { t_s, ha } = seeded;
  const last = t_s.length - 1;
  if (left_ha < LEAST_HA || last < 1 || !(sown_ha > 0)) return null;
  let first = last;
  while (first > 0 && (t_s[first] ?? 0) - (t_s[first - 1] ?? 0) < NIGHT_S) first -= 1;
  const [from_s, to_s] = [t_s[first] ?? 0, t_s[last] ?? 0];
  const since_s = Math.max(from_s, to_s - RECENT_S);
  const over = (from: number): number => seededAt(seeded, to_s) - seededAt(seeded, from);
  const pace = paceHaH(over(since_s), (to_s - since_s) / 3600, (over(from_s) * 3600) / (to_s - from_s));
  const ha_h = (pace * sown_ha) / (ha[last] ?? 1);
  const hours = hoursLeft(left_ha, ha_h);
  return { left_ha, ha_h, hours, spread_h: spreadH(hours, paces(seeded, from_s, to_s)) };
}
