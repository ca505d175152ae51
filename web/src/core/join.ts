// Two phones on one rig: one clock for both.
//
// A page is not promised satellite time, so two phones in one cab may stamp the same moment minutes apart. Both
// ride the same rig, so their velocities (speed and turns in one) agree second by second once one is shifted by
// what the clocks differ. The stamps are the first guess: a shift is looked for within a quarter of an hour of
// them, taken only where it is the only good one and brings the two phones to the same place, and made inside the
// computation, never in the log.
import { firstNotBelow, hypot, interp, median, order, quantile, taken, where } from "./columns";
import type { Plane } from "./plane";
import { byTime } from "./told";
import type { Ahead, Fixes, Floats, Log, Mark } from "./words";

/** Clocks differ by no more than this, s; less than this is left as stamped, s. */
const [REACH_S, LEAVE_S] = [900, 1];
/** Wanted of both together: seconds seen, and seconds moving. */
const [SEEN_S, MOVING_S] = [600, 300];
/** Largest misfit of velocities (0 the same, 1 unrelated); any other must be this much worse. */
const [MISFIT, SHARP] = [0.15, 2];
/** Lags nearer than this to the best belong to it, s. */
const NEAR_S = 15;
/** Phones of one cab lie this near, by the median over what they share, m. */
const CAB_M = 12;
/** The same word on both phones within this is one press, s. */
const SAME_TAP_S = 10;
/** Places are joined over gaps of this; velocities over this to both sides, s. */
const [GAP_S, HALF_S] = [8, 2];
/** What counts as moving, and how many times a phone's usual high speed is a jump. */
const [MOVING_M_S, FASTEST] = [0.7, 1.5];
const IN_SAYS = ["from_ms", "to_ms", "since_ms"];

/** Where one phone was seen, s and m, times increasing. */
interface Seen {
  readonly t_s: Floats;
  readonly x_m: Floats;
  readonly y_m: Floats;
}

/** One phone second by second: place, m, and velocity, m/s; NaN where not seen. */
interface Going {
  readonly x: Floats;
  readonly y: Floats;
  readonly u: Floats;
  readonly v: Floats;
}

/** Two phones over the same seconds. */
type Pair = readonly [Going, Going];

/**
 * The log with every phone's times on the clock of the first phone it rode with, and those that were shifted.
 * Phones are taken in the order of `fixes.phones`. Where two never ran together, or their movement does not tell,
 * the stamps stand.
 */
export function oneClock(given: Log, plane: Plane): { log: Log; clocks: Ahead[] } {
  let log = given;
  const { fixes } = log;
  const clocks: Ahead[] = [];
  const placed: { phone: string; seen: Seen }[] = [];
  const together: [string, string][] = [];
  if (new Set(fixes.phone).size < 2) return { log, clocks };
  fixes.phones.forEach((phone, i) => {
    let seen = seenBy(fixes, i, plane);
    for (const one of placed) {
      const ahead_s = clockAhead(pairsOf(one.seen, seen));
      if (ahead_s === null) continue;
      together.push([one.phone, phone]);
      if (Math.abs(ahead_s) >= LEAVE_S) {
        log = shiftedBy(log, i, -Math.round(1000 * ahead_s));
        seen = Object.assign({}, seen, { t_s: seen.t_s.map((t) => t - ahead_s) });
        clocks.push({ phone, other: one.phone, ahead_s });
      }
      break;
    }
    placed.push({ phone, seen });
  });
  for (const [one, other] of together) log = { ...log, marks: oneLever(log.marks, one, other) };
  return { log, clocks };
}

/**
 * Seconds by which the second phone's clock is ahead of the first's; null where they did not ride together long
 * enough, moved too little, or two shifts would do.
 */
function clockAhead(pairs: readonly Pair[]): number | null {
  const { misfit, seen } = misfits(pairs);
  const rough = misfit.reduce((a, b) => Math.min(a, b), Infinity);
  if (rough > MISFIT) return null;
  const at = (k: number): number => misfit[k] ?? Infinity;
  // rows of one length make a drive like itself two runs later: then the place decides
  const lows = where(misfit.map((m, k) => Number(m <= SHARP * rough + 0.01 && m <= at(k - 1) && m <= at(k + 1))));
  const rivals: number[] = [];
  Array.from(lows).sort((a, b) => misfit[a] - misfit[b]).forEach((k) => {
    if (rivals.every((r) => Math.abs(k - r) > NEAR_S)) rivals.push(k);
  });
  const wide = rivals.map((k) => apart(pairs, k - REACH_S));
  const [nearest, next] = order(wide);
  const best = rivals[nearest];
  if (!(wide[nearest] <= CAB_M) || (next !== undefined && wide[next] < SHARP * wide[nearest] + 2)) return null;
  if (Math.min(at(best - NEAR_S), at(best + NEAR_S)) <= SHARP * misfit[best] + 0.01) return null;
  if (seen[REACH_S] < SEEN_S / 2 || seen[REACH_S] < seen[best] / 2) return null;
  // where a parabola through three neighbouring values is lowest
  const [low, high] = [at(best - 1), at(best + 1)];
  const bend = low - 2 * misfit[best] + high;
  const by = bend > 0 && bend < Infinity ? (low - high) / (2 * bend) : 0;
  return best - REACH_S + Math.max(-0.5, Math.min(0.5, by));
}

/** Both phones over the stretches of time in which either was seen within reach of the other. */
function pairsOf(first: Seen, second: Seen): Pair[] {
  const [mine, theirs] = [first, second].map(({ t_s }) => new Set(Array.from(t_s, (t) => Math.floor(t / REACH_S))));
  const near = (all: ReadonlySet<number>, bin: number): boolean => [-1, 0, 1].some((by) => all.has(bin + by));
  const bins = Array.from(new Set([...Array.from(mine), ...Array.from(theirs)])).filter((bin) => near(mine, bin) && near(theirs, bin));
  const out: Pair[] = [];
  bins.sort((a, b) => a - b);
  for (let from = 0, k = 0; k < bins.length; k++) {
    if (bins[k + 1] === bins[k] + 1) continue;
    const over = [bins[from] * REACH_S, (bins[k] + 1) * REACH_S] as const;
    out.push([goingOf(first, ...over), goingOf(second, ...over)]);
    from = k + 1;
  }
  return out;
}

/**
 * The misfit of velocities at each lag from −REACH_S on, Infinity where too little is shared, and the seconds that
 * both are seen. The misfit is the mean squared difference over twice the mean square.
 */
function misfits(pairs: readonly Pair[]): { misfit: Floats; seen: Floats } {
  const seen = new Float64Array(2 * REACH_S + 1);
  const misfit = seen.map((_, k) => {
    const lag = k - REACH_S;
    let [both, moving, power, shared] = [0, 0, 0, 0];
    for (const [{ u, v }, { u: s, v: w }] of pairs) {
      const end = Math.min(u.length, u.length - lag);
      for (let i = Math.max(-lag, 0); i < end; i++) {
        const j = i + lag;
        const own = u[i] * u[i] + v[i] * v[i];
        const all = own + s[j] * s[j] + w[j] * w[j];
        if (!(all >= 0)) continue; // not seen by both
        both += 1;
        if (own > MOVING_M_S ** 2) moving += 1;
        power += all;
        shared += u[i] * s[j] + v[i] * w[j];
      }
    }
    seen[k] = both;
    return both < SEEN_S || moving < MOVING_S ? Infinity : Math.max(1 - (2 * shared) / Math.max(power, 1e-9), 0);
  });
  return { misfit, seen };
}

/** Median distance of the phones over what they share at a lag, m; Infinity where they share nothing. */
function apart(pairs: readonly Pair[], lag: number): number {
  const out: number[] = [];
  for (const [a, b] of pairs) {
    a.x.forEach((x, i) => {
      const off = hypot(x - b.x[i + lag], a.y[i] - b.y[i + lag]);
      if (Number.isFinite(off)) out.push(off);
    });
  }
  return out.length > 0 ? median(out) : Infinity;
}

function seenBy({ t_ms, lat_deg, lon_deg, phone }: Fixes, which: number, plane: Plane): Seen {
  const mine = where(phone.map((p, i) => Number(p === which && Number.isFinite(lat_deg[i] + lon_deg[i]))));
  const sorted = taken(t_ms, mine);
  const rows = order(sorted).filter((k, i, all) => i === 0 || sorted[k] > sorted[all[i - 1]]).map((k) => mine[k]);
  const [x_m, y_m] = plane.toXy(taken(lon_deg, rows), taken(lat_deg, rows));
  return { t_s: taken(t_ms, rows).map((t) => t / 1000), x_m, y_m };
}

/** Place and velocity at whole seconds from one on and before another. */
function goingOf({ t_s, x_m, y_m }: Seen, from_s: number, to_s: number): Going {
  const grid = Float64Array.from({ length: to_s - from_s }, (_, i) => from_s + i);
  const off = grid.map((t) => {
    const after = Math.max(firstNotBelow(t_s, t), 1);
    return t >= t_s[0] && t_s[after] - t_s[after - 1] <= GAP_S ? 0 : Number.NaN;
  });
  const [x, y] = [x_m, y_m].map((column) => interp(grid, t_s, column).map((value, i) => value + off[i]));
  const [u, v] = [x, y].map((column) => column.map((_, i) => (column[i + HALF_S] - column[i - HALF_S]) / (2 * HALF_S)));
  const speed = u.map((value, i) => hypot(value, v[i]));
  const most = FASTEST * quantile(speed.filter(Number.isFinite), 0.9);
  speed.forEach((value, i) => {
    if (value > most) u[i] = v[i] = Number.NaN;
  });
  return { x, y, u, v };
}

/** One phone's fixes and marks, and the times its marks tell of, moved. */
function shiftedBy(log: Log, which: number, by_ms: number): Log {
  const { fixes } = log;
  const t_ms = fixes.t_ms.map((t, i) => (fixes.phone[i] === which ? t + by_ms : t));
  const marks = log.marks.map((mark): Mark => {
    if (mark.phone !== fixes.phones[which]) return mark;
    const says = { ...mark.says };
    for (const word of IN_SAYS) {
      const told = says[word];
      if (typeof told === "number") says[word] = told + by_ms;
    }
    return { ...mark, t_ms: mark.t_ms + by_ms, says };
  });
  return { ...log, fixes: { ...fixes, t_ms }, marks: marks.sort(byTime) };
}

/**
 * The marks without presses on one phone that the other phone of the cab has too. The phone with more presses
 * counts; a press on the other is the same where the word is and the time nearly is. Presses that only one phone
 * has all stay.
 */
function oneLever(marks: readonly Mark[], one: string, other: string): readonly Mark[] {
  const taps = [one, other].map((name) => marks.filter(({ kind, phone }) => kind === "lever" && phone === name));
  const [free, less] = taps.sort((a, b) => b.length - a.length);
  const again = new Set<Mark>();
  for (const mark of less) {
    const off = (tap: Mark): number => (tap.says["lever"] === mark.says["lever"] ? Math.abs(tap.t_ms - mark.t_ms) : Infinity);
    const near = free.reduce<Mark | null>((best, tap) => (off(tap) < (best === null ? Infinity : off(best)) ? tap : best), null);
    if (near === null || off(near) > 1000 * SAME_TAP_S) continue;
    free.splice(free.indexOf(near), 1);
    again.add(mark);
  }
  return marks.filter((mark) => !again.has(mark));
}
