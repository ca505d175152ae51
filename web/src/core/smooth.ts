// A fixed-interval smoother for a vehicle that turns: positions -> position, speed, heading.
//
// State per fix: x, y (m), v (m/s, negative when backing), ψ (rad), ω (rad/s); between fixes a
// coordinated turn (constant v and ω) driven by white acceleration and white yaw acceleration. The
// estimate is the most probable whole path: all residuals, of measurements and of the motion model, are
// minimised together by Gauss-Newton steps. The normal matrix is block tridiagonal, so a step is one
// banded Cholesky solve over the whole day: the same answer as an iterated extended Kalman filter with
// Rauch-Tung-Striebel smoothing (Bell, "The iterated Kalman smoother as a Gauss-Newton method", SIAM J.
// Optim. 4(3), 1994).
//
// Positions enter with a heavy-tailed weight, so that single bad fixes lose their pull.
import { factored, solved } from "./banded";
import { modulo } from "./columns";
import { motionTerms, REACH, STATE } from "./motion";
import type { Flags, Floats } from "./words";

/** Reported speed and course, one sigma. */
const SPEED_SIGMA_M_S = 0.15;
const COURSE_SIGMA_RAD = (2 * Math.PI) / 180;
/** |ω| above which a stretch counts as a turn, rad/s, and how far the turn reaches, s. */
const TURNING = 0.03;
const REACH_S = 4;
/** The path stands still when a step changes nothing by more than this, m, m/s, rad, rad/s. */
const STILL = 1e-4;
/** Share of a step that is taken where it goes back on the one before. */
const CALM = 0.55;
/** Gauss-Newton steps. */
const ROUNDS = 5;

/** The smoothed state at every fix; columns of one length. */
export interface Motion {
  readonly x_m: Floats;
  readonly y_m: Floats;
  readonly speed_m_s: Floats;
  readonly heading_rad: Floats;
  readonly turn_rad_s: Floats;
}

/**
 * What is known of the path. `joined`, one shorter than the rest, tells whether the motion model links
 * fix k to fix k + 1; `sigma_m` is the quick part of the position noise per axis; `speed_m_s` is signed
 * like the state and `course_rad` is the nose's, NaN where not given or not to be used. `start` is a
 * first guess with its headings unwrapped.
 */
export interface Measured {
  readonly t_s: Floats;
  readonly x_m: Floats;
  readonly y_m: Floats;
  readonly speed_m_s: Floats;
  readonly course_rad: Floats;
  readonly joined: Flags;
  readonly sigma_m: number;
  readonly start: Motion;
}

/** The most probable path through the fixes; headings unwrapped. */
export function smooth(told: Measured): Motion {
  const n = told.t_s.length;
  const { start } = told;
  const dt = new Float64Array(n - 1);
  for (let k = 0; k + 1 < n; k++) dt[k] = told.joined[k] ? told.t_s[k + 1] - told.t_s[k] : 1;
  const s = new Float64Array(STATE * n);
  const columns = [start.x_m, start.y_m, start.speed_m_s, start.heading_rad, start.turn_rad_s];
  columns.forEach((column, j) => column.forEach((v, i) => (s[STATE * i + j] = v)));
  let turning: Flags = new Uint8Array(n - 1).fill(1);
  const last = new Float64Array(n);
  const band = new Float64Array(STATE * n * (REACH + 1));
  const step = new Float64Array(STATE * n);
  for (let round = 0; round < ROUNDS; round++) {
    band.fill(0);
    step.fill(0);
    motionTerms(s, dt, told.joined, turning, band, step);
    measuredTerms(s, told, round, band, step);
    for (let i = 0; i < step.length; i++) step[i] = -step[i];
    solved(factored(band, REACH), REACH, step);
    const largest = taken(s, step, last);
    if (round >= 2 && largest < STILL) break;
    turning = turnings(s, told.t_s);
  }
  const [x_m, y_m, speed_m_s, heading_rad, turn_rad_s] = columns.map((column, j) =>
    column.map((_, i) => s[STATE * i + j]),
  ) as [Floats, Floats, Floats, Floats, Floats];
  return { x_m, y_m, speed_m_s, heading_rad, turn_rad_s };
}

/** Place in the band of the diagonal entry of a fix's unknown. */
function own(i: number, j: number): number {
  return (STATE * i + j) * (REACH + 1) + REACH;
}

/** Adds what the measurements say to the normal equations: the diagonal and the gradient. */
function measuredTerms(s: Floats, told: Measured, round: number, band: Floats, grad: Floats): void {
  const n = told.t_s.length;
  const variance = told.sigma_m ** 2;
  for (let i = 0; i < n; i++) {
    const at = STATE * i;
    const rx = s[at] - told.x_m[i];
    const ry = s[at + 1] - told.y_m[i];
    const w = (round > 0 ? 1 / (1 + (rx * rx + ry * ry) / (9 * variance)) : 1) / variance;
    band[own(i, 0)] += w;
    band[own(i, 1)] += w;
    grad[at] += w * rx;
    grad[at + 1] += w * ry;
    band[own(i, 2)] += 1e-9;
    if (Number.isFinite(told.speed_m_s[i])) {
      const vw = SPEED_SIGMA_M_S ** -2;
      band[own(i, 2)] += vw;
      grad[at + 2] += vw * (s[at + 2] - told.speed_m_s[i]);
    }
    band[own(i, 3)] += 1e-6;
    if (Number.isFinite(told.course_rad[i])) {
      const speed = Math.max(Math.abs(s[at + 2]), 0.3);
      const cw = (COURSE_SIGMA_RAD * (1 + 1 / speed)) ** -2;
      const off = modulo(s[at + 3] - told.course_rad[i] + Math.PI, 2 * Math.PI) - Math.PI;
      band[own(i, 3)] += cw;
      grad[at + 3] += (cw / (1 + (off / 0.5) ** 2)) * off;
    }
    band[own(i, 4)] += 1e-4;
    grad[at + 4] += 1e-4 * s[at + 4];
  }
}

/** Takes a step, calmed in heading; how much it changed at most. */
function taken(s: Floats, step: Floats, last: Floats): number {
  let largest = 0;
  for (let i = 0; i < last.length; i++) {
    const at = STATE * i;
    step[at + 3] = Math.min(Math.max(step[at + 3], -1), 1);
    // near a stop the frame turns with the heading that is sought: such steps swing
    const calm = step[at + 3] * last[i] < 0 ? CALM : 1;
    for (let j = 0; j < STATE; j++) {
      const by = step[at + j] * calm;
      s[at + j] += by;
      largest = Math.max(largest, Math.abs(by));
    }
    last[i] = step[at + 3] * calm;
  }
  return largest;
}

/** Steps within reach of a turn. */
function turnings(s: Floats, t_s: Floats): Flags {
  const n = t_s.length;
  const near = new Uint8Array(n);
  const hot = (i: number): boolean => Math.abs(s[STATE * i + 4]) > TURNING;
  let since = -Infinity;
  for (let i = 0; i < n; i++) {
    if (hot(i)) since = t_s[i];
    if (t_s[i] - since <= REACH_S) near[i] = 1;
  }
  let until = Infinity;
  for (let i = n - 1; i >= 0; i--) {
    if (hot(i)) until = t_s[i];
    if (until - t_s[i] <= REACH_S) near[i] = 1;
  }
  const out = new Uint8Array(n - 1);
  for (let k = 0; k + 1 < n; k++) out[k] = near[k] | near[k + 1];
  return out;
}
