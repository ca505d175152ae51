// The day second by second: where the bar was and how it moved, stops and gaps left out.
//
// A tick is one second in which the rig moved. Standing and blind stretches have no ticks: they say
// nothing of the lever, and 40 minutes at the truck must not outvote a run.
import type { Track } from "./clean";
import { interp, interpAt, median } from "./columns";
import type { Trail } from "./trail";
import type { Flags, Floats, Rig } from "./words";

/** A stretch counts as straight for the day's working speed when it bends less over this way. */
const STRAIGHT_M = 25;
const STRAIGHT_RAD = 0.12;
/** Slower than this is neither work nor a turn worth weighing, m/s. */
const SLOW_M_S = 0.3;
/** The way that turns are looked for over is looked at in so many places. */
const PLACES = 6;

/**
 * One row a moving second; columns of one length. `x_m, y_m` is the middle of the bar halfway between
 * front and rear rank, `heading_rad` the tool's heading, `nose_rad` the tractor's, `way_m` the forward way
 * of the bar so far and `rising_m` the same made to rise where it stands. `usual_m_s` is the day's working
 * speed.
 */
export interface Ticks {
  readonly t_s: Floats;
  readonly x_m: Floats;
  readonly y_m: Floats;
  readonly heading_rad: Floats;
  readonly nose_rad: Floats;
  readonly bend_1_m: Floats;
  readonly speed_m_s: Floats;
  readonly way_m: Floats;
  readonly rising_m: Floats;
  readonly backing: Flags;
  readonly usual_m_s: number;
}

/** One phone's cleaned track, and the trail of its tool for the card that holds. */
export interface Driven {
  readonly track: Track;
  readonly trail: Trail;
  readonly rig: Rig;
}

/** One tick a second, until `end_s`. */
export function ticks({ track, trail, rig }: Driven, end_s = trail.t_s[trail.t_s.length - 1]): Ticks {
  const last = trail.t_s.length - 1;
  const times: number[] = [];
  const backing: number[] = [];
  let step = 0;
  for (let t = trail.t_s[0]; t < end_s + 1e-6; t++) {
    while (step < last - 1 && trail.t_s[step + 1] <= t) step += 1;
    if (trail.standing[step] || trail.blind[step]) continue;
    times.push(t);
    backing.push(trail.backing[step]);
  }
  const t_s = Float64Array.from(times);
  const at = (values: Floats): Floats => interp(t_s, trail.t_s, values);
  const heading_rad = at(trail.heading_rad);
  const middle = (rig.tool.front_rank_m + rig.tool.rear_rank_m) / 2;
  const m = track.motion;
  const nose_rad = interp(t_s, track.t_s, m.heading_rad);
  const speed_m_s = interp(t_s, track.t_s, m.speed_m_s).map(Math.abs);
  const rate = interp(t_s, track.t_s, m.turn_rad_s);
  const way_m = at(trail.path_m);
  const rising_m = way_m.map((w, i) => w + i * 1e-9);
  return {
    t_s,
    x_m: at(trail.x_m).map((x, i) => x + middle * Math.cos(heading_rad[i])),
    y_m: at(trail.y_m).map((y, i) => y + middle * Math.sin(heading_rad[i])),
    heading_rad,
    nose_rad,
    bend_1_m: rate.map((r, i) => r / Math.max(speed_m_s[i], 0.5)),
    speed_m_s,
    way_m,
    rising_m,
    backing: Uint8Array.from(backing),
    usual_m_s: usual(rising_m, nose_rad, speed_m_s),
  };
}

/** Largest change of heading within a way ahead (negative `reach_m`: behind), radians. */
export function turnedWithin(rising_m: Floats, nose: Floats, reach_m: number): Floats {
  const out = new Float64Array(nose.length);
  if (nose.length < 2) return out;
  for (let k = 1; k <= PLACES; k++) {
    const there = shifted(rising_m, nose, (reach_m * k) / PLACES);
    for (let i = 0; i < out.length; i++) {
      out[i] = Math.max(out[i], Math.abs(there[i] - nose[i]));
    }
  }
  return out;
}

/** Values at a distance further along the way (negative: back), one a tick. */
export function shifted(rising_m: Floats, values: Floats, by_m: number): Floats {
  const n = rising_m.length;
  const out = new Float64Array(n);
  let k = 0;
  for (let i = 0; i < n; i++) {
    const at = rising_m[i] + by_m;
    if (at <= rising_m[0] || at >= rising_m[n - 1]) {
      out[i] = interpAt(at, rising_m, values);
      continue;
    }
    // places asked for rise as the ticks do
    while (rising_m[k + 1] <= at) k += 1;
    const part = (at - rising_m[k]) / (rising_m[k + 1] - rising_m[k]);
    out[i] = values[k] + part * (values[k + 1] - values[k]);
  }
  return out;
}

function usual(rising_m: Floats, nose: Floats, speed: Floats): number {
  const ahead = turnedWithin(rising_m, nose, STRAIGHT_M);
  const behind = turnedWithin(rising_m, nose, -STRAIGHT_M);
  const moving = speed.filter((v) => v > SLOW_M_S);
  const straight = speed.filter(
    (v, i) => v > SLOW_M_S && ahead[i] < STRAIGHT_RAD && behind[i] < STRAIGHT_RAD,
  );
  const pool = straight.length < 60 ? moving : straight;
  return pool.length > 0 ? median(pool) : 2;
}
