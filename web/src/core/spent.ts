// Where the time in the paddock went: sowing, turning, standing, filling. Time in a run is sowing; between runs
// the rig turns or stands; standing at a fill is filling. A phone wanders by metres while it stands, so standing
// is told over a window, not from fix to fix.
import type { Hours } from "./capacity";
import { firstAbove, firstNotBelow, hypot, interp } from "./columns";
import type { Flags, Floats } from "./words";

/** Standing: moved by less than this over so much time around, m and s. */
const STILL_M = 4;
const AROUND_S = 20;
/** A fill belongs to a stand that lies this near to it, s. */
const FILL_S = 300;

type Span = readonly [number, number];

/**
 * Hours by what was done, over all `days` (from the first down to the last up of each, s): one rig's positions
 * in order of time, `runs` from lever down to lever up, `fills_s` when something was filled.
 */
export function spent(t_s: Floats, x_m: Floats, y_m: Floats, runs: readonly Span[], fills_s: readonly number[], days: readonly Span[]): Hours {
  const out = { sowing_h: 0, turning_h: 0, standing_h: 0, filling_h: 0 };
  const edges = [...runs, ...days].reduce<number[]>((all, span) => all.concat(span), []);
  const inside = edges.filter((t) => t > t_s[0] && t < t_s[t_s.length - 1]);
  const at = new Float64Array(t_s.length + inside.length);
  at.set(t_s);
  at.set(inside, t_s.length);
  at.sort();
  const middles = at.subarray(1).map((t, k) => (t + at[k]) / 2);
  const off = (by_s: number, x: Floats): Floats => interp(middles.map((t) => t + by_s), t_s, x);
  const [x0, x1, y0, y1] = [off(-AROUND_S / 2, x_m), off(AROUND_S / 2, x_m), off(-AROUND_S / 2, y_m), off(AROUND_S / 2, y_m)];
  const within = (spans: readonly Span[]): Flags => {
    const flags = new Uint8Array(middles.length);
    for (const [begin, end] of spans) flags.fill(1, firstNotBelow(middles, begin), firstAbove(middles, end));
    return flags;
  };
  const [counted, sown] = [within(days), within(runs)];
  // the stand that goes on: from when, to when, and its hours; none of it is nought hours
  let [from, to, stands_h] = [0, 0, 0];
  const stood = (): void => {
    const fills = fills_s.some((fill) => fill >= from - FILL_S && fill <= to + FILL_S);
    out[fills ? "filling_h" : "standing_h"] += stands_h;
    stands_h = 0;
  };
  for (let k = 0; k < middles.length; k++) {
    const hours = (at[k + 1] - at[k]) / 3600;
    if (hours === 0) continue;
    if (counted[k] && hypot(x1[k] - x0[k], y1[k] - y0[k]) < STILL_M) {
      if (stands_h === 0) from = middles[k];
      to = middles[k];
      stands_h += hours;
    } else {
      stood();
      if (counted[k]) out[sown[k] ? "sowing_h" : "turning_h"] += hours;
    }
  }
  stood();
  return out;
}
