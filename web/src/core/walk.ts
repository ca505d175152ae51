// The phone that leaves the cab: out from a standing tractor and back to it.
import type { Track } from "./clean";
import { hypot, quantile } from "./columns";
import { type Span, marked } from "./spans";
import { STAND } from "./steps";

/** Walking is no faster, lasts no longer, and ends this near to where it began. */
const FAST_M_S = 2.2;
const LONG_S = 900;
const BACK_M = 8;
/** It goes at least this far from the tractor, and turns about at least this much. */
const AWAY_M = 3;
const SPREAD_RAD = (40 * Math.PI) / 180;

/**
 * Stretches in which the phone was walked with, seconds; both ends in a standing stretch. A rig that
 * backs out of a bog and drives on over its own ground looks the same, and sows nothing new either.
 */
export function walks(track: Track): Span[] {
  const stops = marked(track.step.map((s) => (s === STAND ? 1 : 0)));
  const out: Span[] = [];
  for (let k = 0; k + 1 < stops.length; k++) {
    const [a, b] = [stops[k][1], stops[k + 1][0]];
    const took = track.t_s[b] - track.t_s[a];
    if (b - a >= 5 && took >= 8 && took <= LONG_S && onFoot(track, a, b)) {
      out.push([track.t_s[a], track.t_s[b]]);
    }
  }
  return out;
}

/** Whether the fixes a to b, both included, go out and back, slowly and winding. */
function onFoot(track: Track, a: number, b: number): boolean {
  const { x_m: x, y_m: y } = track.motion;
  let farthest = 0;
  for (let i = a; i <= b; i++) farthest = Math.max(farthest, hypot(x[i] - x[a], y[i] - y[a]));
  const home = hypot(x[b] - x[a], y[b] - y[a]);
  if (home > BACK_M || farthest < Math.max(AWAY_M, 2 * home)) return false;
  const speeds: number[] = [];
  let [east, north, moving] = [0, 0, 0];
  for (let i = a; i < b; i++) {
    const [dx, dy] = [x[i + 1] - x[i], y[i + 1] - y[i]];
    const length = hypot(dx, dy);
    const speed = length / Math.max(track.t_s[i + 1] - track.t_s[i], 0.2);
    speeds.push(speed);
    if (speed <= 0.3) continue;
    east += dx / length;
    north += dy / length;
    moving += 1;
  }
  if (quantile(speeds, 0.9) > FAST_M_S || moving < 4) return false;
  const together = hypot(east, north) / moving;
  return Math.sqrt(-2 * Math.log(Math.max(together, 1e-9))) >= SPREAD_RAD;
}
