// Where the time in the paddock went: sowing, turning, standing, filling. Time in a run is sowing; between runs
// the rig turns or stands; standing at a fill is filling. A phone wanders by metres while it stands, so standing
// is told over a window, not from fix to fix.
import type { Hours } from "./capacity";
import { hypot, interpAt } from "./columns";
import type { Floats } from "./words";

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
  const at = Float64Array.from(new Set([...Array.from(t_s), ...inside])).sort();
  const within = (t: number, spans: readonly Span[]): boolean => spans.some(([begin, end]) => t >= begin && t <= end);
  // the stand that goes on: from when, to when, and its hours; none of it is nought hours
  let [from, to, stands_h] = [0, 0, 0];
  const stood = (): void => {
    const fills = fills_s.some((fill) => fill >= from - FILL_S && fill <= to + FILL_S);
    out[fills ? "filling_h" : "standing_h"] += stands_h;
    stands_h = 0;
  };
  for (let k = 1; k < at.length; k++) {
    const middle = (at[k] + at[k - 1]) / 2;
    const hours = (at[k] - at[k - 1]) / 3600;
    const [before, after] = [middle - AROUND_S / 2, middle + AROUND_S / 2];
    const dx = interpAt(after, t_s, x_m) - interpAt(before, t_s, x_m);
    const dy = interpAt(after, t_s, y_m) - interpAt(before, t_s, y_m);
    const counted = within(middle, days);
    if (counted && hypot(dx, dy) < STILL_M) {
      if (stands_h === 0) from = middle;
      to = middle;
      stands_h += hours;
    } else {
      stood();
      if (counted) out[within(middle, runs) ? "sowing_h" : "turning_h"] += hours;
    }
  }
  stood();
  return out;
}
