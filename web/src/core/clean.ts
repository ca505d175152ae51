// Fixes -> a smooth track of the phone with its uncertainty, and what was dropped and why.
//
// Nothing is corrected in place: fixes that cannot be true are left out and counted by reason, standing
// stretches are held (a parked phone wanders by metres; that is no travel), and gaps are sorted into
// joined, bridged and blind. Where fixes come many times a second a few are taken together first.
import { backed } from "./backed";
import { hypot, taken, takenFlags, takenInts, unwrap, where } from "./columns";
import { type Seen, gather } from "./gather";
import { QUIET_M, driftRate, quickNoise } from "./noise";
import { type Motion, smooth } from "./smooth";
import { belied, deadReckoned, fits } from "./speed";
import { held, standing } from "./stand";
import { BLIND, BRIDGE, JOIN, JOIN_S, STAND, bridge, bursts, gaps } from "./steps";
import type { Flags, Floats, Ints } from "./words";

/** A fix whose 95 % radius is larger than this is left out, m. */
const ACC_LIMIT_M = 15;
/** In more quick noise than this, m, reported speed and course tell reversals, where given. */
const REPORT_M = 0.2;
/** In more quick noise than this, m, the wander is not heard. */
const RATE_M = 1;

/**
 * The cleaned path of one phone; `step` is one shorter than the rest and holds JOIN, BRIDGE, STAND or
 * BLIND. Headings are where the phone is carried nose first: they do not flip when backing. `row` is the
 * fix each came from. `sigma_m` is the quick noise the smoother was given, `rate` the drift's rate in
 * m/√s across the path on straights (NaN where the track does not tell).
 */
export interface Track {
  readonly t_s: Floats;
  readonly motion: Motion;
  readonly backing: Flags;
  readonly step: Ints;
  readonly row: Ints;
  readonly sigma_m: number;
  readonly dropped: Readonly<Record<string, number>>;
  readonly rate: number;
  readonly rate_error: number;
}

/**
 * One phone's fixes as they came: seconds since the day's first fix (may repeat or step back), metres on
 * the plane, reported accuracy radius, speed and course (radians anticlockwise from east); NaN where not
 * given.
 */
export interface Raw {
  readonly t_s: Floats;
  readonly x_m: Floats;
  readonly y_m: Floats;
  readonly acc_m: Floats;
  readonly speed_m_s: Floats;
  readonly course_rad: Floats;
}

/** The track; empty where fewer than two fixes can be used. */
export function clean(raw: Raw): Track {
  const dropped: Record<string, number> = {};
  const [keep, quick] = believed(raw, dropped);
  if (keep.t_s.length < 2) return nothing(dropped);
  const moving = moved(keep, dropped);
  if (moving.t_s.length < 2) return nothing(dropped);
  const seen = gather(moving);
  const { t_s: t, x_m: x, y_m: y, speed_m_s: v } = seen;
  const step = gaps(seen, quick);
  // a few metres back and forth drown in the positions' noise, not in what the phone reports
  const way = quick > REPORT_M ? deadReckoned(seen) : ([x, y] as const);
  const backing = backed(t, ...way, step, quick > QUIET_M ? v : null);
  const joined = new Uint8Array(step.length).map((_, k) => (step[k] === JOIN || step[k] === BRIDGE ? 1 : 0));
  const sigma_m = quickNoise(t, x, y, joined);
  const motion = smooth({
    t_s: t,
    x_m: x,
    y_m: y,
    start: firstGuess(seen, backing, step),
    joined,
    sigma_m,
    speed_m_s: v.map((s, i) =>
      seen.stands[i] && Number.isNaN(s) ? 0 : backing[i] ? -s : s,
    ),
    course_rad: seen.course_rad.map((c, i) => (backing[i] || !(v[i] > 0.8) ? Number.NaN : c)),
  });
  const [rate, rate_error] = sigma_m <= RATE_M ? driftRate(t, x, y, motion.speed_m_s, joined) : [Number.NaN, Number.NaN];
  bridge(t, motion, step);
  return { t_s: t, motion, backing, step, row: seen.row, sigma_m, dropped, rate, rate_error };
}

/** The fixes that can be true, in order of time, the speeds that can, and their quick noise, m; the rest is counted. */
function believed(raw: Raw, dropped: Record<string, number>): [Seen, number] {
  let keep = new Int32Array(raw.t_s.length).map((_, i) => i);
  const drop = (reason: string, bad: (i: number, k: number) => boolean): void => {
    let left = 0;
    for (let k = 0; k < keep.length; k++) if (!bad(keep[k], k)) keep[left++] = keep[k];
    if (left < keep.length) dropped[reason] = (dropped[reason] ?? 0) + keep.length - left;
    keep = keep.subarray(0, left);
  };
  drop("no position", (i) => !Number.isFinite(raw.x_m[i]) || !Number.isFinite(raw.y_m[i]));
  drop(`accuracy worse than ${ACC_LIMIT_M} m`, (i) => raw.acc_m[i] > ACC_LIMIT_M);
  let ahead = -Infinity;
  drop("time not increasing", (i) => {
    const late = raw.t_s[i] <= ahead;
    ahead = Math.max(ahead, raw.t_s[i]);
    return late;
  });
  let told = raw.speed_m_s.map((v) => (v >= 0 && Number.isFinite(v) ? v : Number.NaN));
  const columns = (): [Floats, Floats, Floats, Floats] => [
    taken(raw.t_s, keep),
    taken(raw.x_m, keep),
    taken(raw.y_m, keep),
    taken(told, keep),
  ];
  const all = columns();
  const quick = quickNoise(all[0], all[1], all[2], new Uint8Array(all[0].length).map((_, k) => (all[0][k + 1] - all[0][k] <= JOIN_S ? 1 : 0)));
  if (!fits(...all, quick)) {
    dropped["reported speed not used: it does not fit the way"] = keep.length;
    told = told.map(() => Number.NaN);
  }
  const untrue = belied(...columns(), quick);
  if (untrue.length > 0) {
    dropped["reported standing not used: it drove on"] = untrue.length;
    for (const k of untrue) told[keep[k]] = Number.NaN;
  }
  const burst = bursts(...columns(), quick);
  drop("jumped away and back", (_i, k) => burst[k] === 1);
  const [t_s, x_m, y_m, speed_m_s] = columns();
  const stands = keep.length < 2 ? new Uint8Array(keep.length) : standing(t_s, x_m, y_m, speed_m_s, quick);
  const seen = { row: keep, t_s, x_m, y_m, speed_m_s, course_rad: taken(raw.course_rad, keep), stands };
  return [seen, quick];
}

/** The fixes without the inner ones of standing stretches, whose ends are held. */
function moved(seen: Seen, dropped: Record<string, number>): Seen {
  const n = seen.t_s.length;
  const { stands } = seen;
  const [x, y] = held(seen.x_m, seen.y_m, stands);
  // the inner ones of a standing stretch go
  const kept = where(stands.map((on, i) => (i > 0 && i < n - 1 && stands[i - 1] && on && stands[i + 1] ? 0 : 1)));
  if (kept.length < n) dropped["standing still"] = n - kept.length;
  return {
    row: takenInts(seen.row, kept),
    t_s: taken(seen.t_s, kept),
    x_m: taken(x, kept),
    y_m: taken(y, kept),
    speed_m_s: taken(seen.speed_m_s, kept),
    course_rad: taken(seen.course_rad, kept),
    stands: takenFlags(stands, kept),
  };
}

function nothing(dropped: Readonly<Record<string, number>>): Track {
  const none = new Float64Array(0);
  const motion = { x_m: none, y_m: none, speed_m_s: none, heading_rad: none, turn_rad_s: none };
  const whole = new Int32Array(0);
  return {
    t_s: none,
    motion,
    backing: new Uint8Array(0),
    step: whole,
    row: whole,
    sigma_m: 0.1,
    dropped,
    rate: Number.NaN,
    rate_error: Number.NaN,
  };
}

/** Speed and heading from differences over a few seconds, headings filled through stops. */
function firstGuess(seen: Seen, backing: Flags, step: Ints): Motion {
  const { t_s: t, x_m: x, y_m: y, speed_m_s: v } = seen;
  const n = t.length;
  const chain = new Int32Array(n);
  for (let i = 1; i < n; i++) {
    chain[i] = chain[i - 1] + (step[i - 1] === STAND || step[i - 1] === BLIND ? 1 : 0);
  }
  const speed = new Float64Array(n);
  const heading = new Float64Array(n);
  let first = -1;
  let source = -1;
  for (let i = 0; i < n; i++) {
    let lo = i;
    let hi = i;
    for (let reach = 1; reach < 3; reach++) {
      const a = Math.max(i - reach, 0);
      const b = Math.min(i + reach, n - 1);
      if (chain[a] === chain[i] && t[i] - t[a] <= 3 && backing[a] === backing[i]) lo = a;
      if (chain[b] === chain[i] && t[b] - t[i] <= 3 && backing[b] === backing[i]) hi = b;
    }
    if (lo === hi) {
      const [a, b] = [Math.max(i - 1, 0), Math.min(i + 1, n - 1)];
      if (chain[a] === chain[i]) lo = a;
      if (chain[b] === chain[i]) hi = b;
    }
    const sign = backing[i] ? -1 : 1;
    const [dx, dy] = [x[hi] - x[lo], y[hi] - y[lo]];
    const length = hypot(dx, dy);
    speed[i] = (Number.isFinite(v[i]) ? v[i] : length / Math.max(t[hi] - t[lo], 1e-3)) * sign;
    heading[i] = Math.atan2(dy * sign, dx * sign);
    if (length > 0.4) {
      source = i;
      if (first < 0) first = i;
    } else if (source >= 0) heading[i] = heading[source];
  }
  if (first > 0) heading.fill(heading[first], 0, first);
  return {
    x_m: x.slice(),
    y_m: y.slice(),
    speed_m_s: speed,
    heading_rad: unwrap(heading),
    turn_rad_s: new Float64Array(n),
  };
}
