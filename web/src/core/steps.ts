// Kinds of step between one kept fix and the next, and fixes that no vehicle can have been at.
import {
  diff,
  firstNotBelow,
  halfToEven,
  hypot,
  median,
  runningMedian,
  runningSum,
  turned,
  where,
} from "./columns";
import type { Seen } from "./gather";
import type { Motion } from "./smooth";
import type { Flags, Floats, Ints } from "./words";

/** Nothing in a paddock moves faster, m/s. */
const SPEED_LIMIT_M_S = 25;
/** Longest gap that is simply interpolated, and longest that may be bridged straight, s. */
export const JOIN_S = 6.5;
const BRIDGE_S = 30;
/** Bridging conditions: heading change, and change of mean speed. */
const BRIDGE_TURN_RAD = (15 * Math.PI) / 180;
const BRIDGE_SPEED = 0.25;
/** A gap with less movement than this is standing too, m. */
const STAND_GAP_M = 6;
/** An excursion that returns within this time is an outlier burst, s. */
const BURST_S = 30;
/**
 * A step may depart from the motion round it by this, m, and by what 2 m/s² do in its time. The motion is
 * the running median of the steps over this long, s; slower fixes show no such jumps.
 */
const JUMP_M = 4;
/** Where the fixes are noisier than that leaves room for, by so many sigmas. */
const JUMP_SIGMAS = 6;
const JUMP_A_M_S2 = 2;
const JUMP_ROUND_S = 9;
const JUMP_STEP_S = 2.5;
/** A phone that reports no speed is as fast as the middle of this many steps about, an odd number. */
const ABOUT = 31;

/** Kinds of step: joined, bridged straight, standing, nothing known. */
export const [JOIN, BRIDGE, STAND, BLIND] = [0, 1, 2, 3];

/** A step departs by more than this, m, where positions have that quick noise, m. */
const limit = (sigma_m: number): number => Math.max(JUMP_M, JUMP_SIGMAS * sigma_m);

/** The kind of every step; bridges are still to be looked at. Positions have that quick noise, m. */
export function gaps(seen: Seen, sigma_m: number): Ints {
  const { t_s: t, x_m: x, y_m: y, stands } = seen;
  const leaping = leaps(t, x, y, usualSpeed(t, x, y, seen.speed_m_s), limit(sigma_m));
  return new Int32Array(leaping.length).map((_, k) => {
    const dt = t[k + 1] - t[k];
    const length = hypot(x[k + 1] - x[k], y[k + 1] - y[k]);
    if (stands[k] && stands[k + 1]) return STAND;
    if (dt > JOIN_S && length < STAND_GAP_M && length < 0.5 * dt) return STAND;
    if (leaping[k]) return BLIND;
    return dt <= JOIN_S ? JOIN : dt <= BRIDGE_S ? BRIDGE : BLIND;
  });
}

/** Keeps a bridge only where heading and speed before and after agree with it. */
export function bridge(t: Floats, m: Motion, step: Ints): void {
  const { x_m: x, y_m: y } = m;
  for (let k = 0; k < step.length; k++) {
    if (step[k] !== BRIDGE) continue;
    const [lo, hi] = [Math.max(k - 3, 0), Math.min(k + 4, t.length - 1)];
    const speed = (a: number, b: number): number =>
      hypot(x[b] - x[a], y[b] - y[a]) / Math.max(t[b] - t[a], 1e-9);
    const heading = (a: number, b: number): number => Math.atan2(y[b] - y[a], x[b] - x[a]);
    const [before, way, after] = [heading(lo, k), heading(k, k + 1), heading(k + 1, hi)];
    const bend = Math.max(turned(way, before), turned(after, way), turned(after, before));
    const usual = (speed(lo, k) + speed(k + 1, hi)) / 2;
    const fine = Math.abs(speed(k, k + 1) - usual) < BRIDGE_SPEED * usual;
    if (!(bend < BRIDGE_TURN_RAD) || !fine) step[k] = BLIND;
  }
}

/**
 * Fixes of excursions: entered and left by steps no vehicle makes, and soon over. A leap is such a step by
 * its length alone; a jump by its departure from the motion round it, and then the way back has to undo
 * the way out.
 */
export function bursts(t: Floats, x: Floats, y: Floats, v: Floats, sigma_m: number): Flags {
  const n = t.length;
  const bad = new Uint8Array(n);
  if (n < 3) return bad;
  const usual = usualSpeed(t, x, y, v);
  const leap_m = limit(sigma_m);
  const far = leaps(t, x, y, usual, leap_m);
  const { goneX, goneY, jump } = jumps(t, x, y, leap_m);
  const leaving = where(far.map((on, k) => on | jump[k]));
  for (let at = 0; at < leaving.length; at++) {
    const out = leaving[at]; // the step out -> out + 1 leaves the path
    for (const back of leaving.subarray(at + 1, at + 6)) {
      // the step back -> back + 1 returns to it
      const gap = t[back + 1] - t[out];
      if (gap > BURST_S) break;
      const home = hypot(x[back + 1] - x[out], y[back + 1] - y[out]);
      const undone =
        far[out] || hypot(goneX[back + 1] - goneX[out], goneY[back + 1] - goneY[out]) <= leap_m;
      if (!undone || home > usual[out] * gap + leap_m) continue;
      bad.fill(1, out + 1, back + 1);
      at = firstNotBelow(leaving, back);
      break;
    }
  }
  if (far[n - 2] && !bad[n - 1]) bad[n - 1] = 1;
  if (far[0] && !bad[1] && !bad[2]) bad[0] = 1;
  return bad;
}

/** By how much the steps depart from the motion round them, summed up on the way, m, and which jump. */
function jumps(t: Floats, x: Floats, y: Floats, leap_m: number): { goneX: Floats; goneY: Floats; jump: Flags } {
  const dt = diff(t);
  const reach = Math.max(2, halfToEven(JUMP_ROUND_S / 2 / Math.max(median(dt), 1e-3)));
  const [strayX, strayY] = [x, y].map((a) => {
    const step = diff(a);
    const pace = new Float64Array(step.length);
    for (let k = 0; k < step.length; k++) pace[k] = step[k] / dt[k];
    const usual = runningMedian(pace, reach);
    for (let k = 0; k < step.length; k++) step[k] = dt[k] <= JUMP_STEP_S ? step[k] - usual[k] * dt[k] : 0;
    return step;
  }) as [Floats, Floats];
  const jump = new Uint8Array(dt.length);
  for (let k = 0; k < dt.length; k++) {
    if (hypot(strayX[k], strayY[k]) > leap_m + (JUMP_A_M_S2 / 2) * dt[k] * dt[k]) jump[k] = 1;
  }
  return { goneX: runningSum(strayX), goneY: runningSum(strayY), jump };
}

/** A generous speed for each step, m/s: reported, or the running median of the steps. */
function usualSpeed(t: Floats, x: Floats, y: Floats, v: Floats): Floats {
  const steps = t.length - 1;
  const told = new Float64Array(steps);
  let all = true;
  for (let k = 0; k < steps; k++) {
    const a = v[k];
    const b = v[k + 1];
    told[k] = Number.isNaN(a) ? b : Number.isNaN(b) ? a : Math.max(a, b);
    all = all && Number.isFinite(told[k]);
  }
  if (all) return told.map((s) => s * 1.5 + 1);
  const shown = told.map(
    (_, k) => hypot(x[k + 1] - x[k], y[k + 1] - y[k]) / (t[k + 1] - t[k]),
  );
  const middle = runningMedian(shown, ABOUT >> 1);
  return told.map((s, k) => (Number.isFinite(s) ? s : middle[k]) * 1.5 + 1);
}

/** Steps that the vehicle did not make: far beyond its speed. */
function leaps(t: Floats, x: Floats, y: Floats, usual: Floats, leap_m: number): Flags {
  const out = new Uint8Array(usual.length);
  for (let k = 0; k < out.length; k++) {
    const dt = t[k + 1] - t[k];
    const length = hypot(x[k + 1] - x[k], y[k + 1] - y[k]);
    const far = length > usual[k] * dt + leap_m && dt <= BURST_S;
    if (far || length > SPEED_LIMIT_M_S * dt + leap_m - JUMP_M) out[k] = 1;
  }
  return out;
}
