// Fixes -> a smooth track of the phone with its uncertainty, and what was dropped and why.
//
// Nothing is corrected in place: fixes that cannot be true are left out and counted by reason, standing
// stretches are held (a parked phone wanders by metres; that is no travel), and gaps are sorted into
// joined, bridged and blind. Where fixes come many times a second a few are taken together first.
import { backed } from "./backed";
import { STATE } from "./blocks";
import { hypot, noughts, rowsOf, taken, where } from "./columns";
import { type Seen, gather } from "./gather";
import { QUIET_M, driftRate, quickNoise } from "./noise";
import { type Measured, type Motion, smooth } from "./smooth";
import { belied, deadReckoned, fits } from "./speed";
import { hold, standing } from "./stand";
import { BRIDGE, JOIN_S, bridge, bursts, gaps } from "./steps";
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
  const { t_s: t, x_m: x, y_m: y } = seen;
  const step = gaps(seen, quick);
  // a few metres back and forth drown in the positions' noise, not in what the phone reports
  const way = quick > REPORT_M ? deadReckoned(seen) : ([x, y] as const);
  const backing = backed(t, ...way, step, quick > QUIET_M ? seen.speed_m_s : null);
  const told = toldOf(seen, backing, step);
  const sigma_m = quickNoise(t, x, y, told.joined);
  const motion = smooth({ ...told, sigma_m });
  const [rate, rate_error] = sigma_m <= RATE_M ? driftRate(t, x, y, motion.speed_m_s, told.joined) : [Number.NaN, Number.NaN];
  bridge(t, motion, step);
  return { t_s: t, motion, backing, step, row: seen.row, sigma_m, dropped, rate, rate_error };
}

/** The fixes that can be true, in order of time, the speeds that can, and their quick noise, m; the rest is counted. */
function believed(raw: Raw, dropped: Record<string, number>): [Seen, number] {
  const rows = new Int32Array(raw.t_s.length);
  let [left, ahead] = [0, -Infinity];
  const count = (reason: string, many: number): void => {
    if (many > 0) dropped[reason] = (dropped[reason] ?? 0) + many;
  };
  for (let i = 0; i < rows.length; i++) {
    const t = raw.t_s[i];
    if (!Number.isFinite(raw.x_m[i] + raw.y_m[i])) count("no position", 1);
    else if (raw.acc_m[i] > ACC_LIMIT_M) count(`accuracy worse than ${ACC_LIMIT_M} m`, 1);
    else if (t <= ahead) count("time not increasing", 1);
    else {
      ahead = t;
      rows[left++] = i;
    }
  }
  const row = rows.subarray(0, left);
  const speed_m_s = taken(raw.speed_m_s, row).map((v) => (v >= 0 && v < Infinity ? v : Number.NaN));
  const [t_s, x_m, y_m, course_rad] = [raw.t_s, raw.x_m, raw.y_m, raw.course_rad].map((column) => taken(column, row));
  const quick = quickNoise(t_s, x_m, y_m, t_s.map((t, k) => Number(t_s[k + 1] - t <= JOIN_S)));
  if (!fits(t_s, x_m, y_m, speed_m_s, quick)) {
    count("reported speed not used: it does not fit the way", left);
    speed_m_s.fill(Number.NaN);
  }
  const untrue = belied(t_s, x_m, y_m, speed_m_s, quick);
  count("reported standing not used: it drove on", untrue.length);
  for (const k of untrue) speed_m_s[k] = Number.NaN;
  const all = { row, t_s, x_m, y_m, speed_m_s, course_rad, stands: new Uint8Array(left) };
  const seen = without(all, bursts(t_s, x_m, y_m, speed_m_s, quick));
  const stay = seen.t_s.length;
  count("jumped away and back", left - stay);
  if (stay > 1) seen.stands.set(standing(seen.t_s, seen.x_m, seen.y_m, seen.speed_m_s, quick));
  return [seen, quick];
}

/** The fixes but for those that go. */
function without(seen: Seen, goes: Flags): Seen {
  return rowsOf(seen, where(goes.map((gone) => 1 - gone)));
}

/** The fixes without the inner ones of standing stretches, whose ends are held. */
function moved(seen: Seen, dropped: Record<string, number>): Seen {
  const { stands } = seen;
  hold(seen.x_m, seen.y_m, stands);
  const inner = new Uint8Array(stands.length);
  for (let i = 1; i + 1 < stands.length; i++) inner[i] = stands[i - 1] & stands[i] & stands[i + 1];
  const left = without(seen, inner);
  if (left.row.length < inner.length) dropped["standing still"] = inner.length - left.row.length;
  return left;
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

/** What is told of each fix, with speed and heading from differences over a few seconds, headings filled through stops. */
function toldOf(seen: Seen, backing: Flags, step: Ints): Omit<Measured, "sigma_m"> {
  const { t_s: t, x_m: x, y_m: y, speed_m_s: v, stands } = seen;
  const n = t.length;
  const [speed_m_s, course_rad] = noughts(2, n);
  const joined = new Uint8Array(n - 1);
  const start = new Float64Array(STATE * n);
  /** The fix that a difference reaches to: over two steps, within three seconds, and not over a turn about; or the next. */
  const reached = (i: number, by: number, next: boolean): number => {
    let found = i;
    for (let k = i + by; k !== (next ? i + 2 * by : i + 3 * by) && step[Math.min(k, k - by)] <= BRIDGE; k += by) {
      if (next || (Math.abs(t[k] - t[i]) <= 3 && backing[k] === backing[i])) found = k;
    }
    return found;
  };
  let nose = Number.NaN;
  for (let i = 0, at = 0; i < n; i++, at += STATE) {
    let [lo, hi] = [reached(i, -1, false), reached(i, 1, false)];
    if (lo === hi) [lo, hi] = [reached(i, -1, true), reached(i, 1, true)];
    const sign = backing[i] ? -1 : 1;
    const [dx, dy] = [x[hi] - x[lo], y[hi] - y[lo]];
    const length = hypot(dx, dy);
    let heading = Math.atan2(dy * sign, dx * sign);
    if (length > 0.4) {
      if (Number.isNaN(nose)) for (let k = 3; k < at; k += STATE) start[k] = heading;
      nose = heading;
    } else if (!Number.isNaN(nose)) heading = nose;
    const turn = i === 0 ? 0 : heading - start[at - 2];
    if (Math.abs(turn) > Math.PI) heading -= 2 * Math.PI * Math.round(turn / (2 * Math.PI));
    start[at] = x[i];
    start[at + 1] = y[i];
    start[at + 2] = (Number.isFinite(v[i]) ? v[i] : length / Math.max(t[hi] - t[lo], 1e-3)) * sign;
    start[at + 3] = heading;
    speed_m_s[i] = stands[i] && Number.isNaN(v[i]) ? 0 : v[i] * sign;
    course_rad[i] = backing[i] || !(v[i] > 0.8) ? Number.NaN : seen.course_rad[i];
    if (i + 1 < n) joined[i] = step[i] <= BRIDGE ? 1 : 0;
  }
  return { t_s: t, x_m: x, y_m: y, speed_m_s, course_rad, joined, start };
}
