// A fixed-interval smoother for a vehicle that turns: positions -> position, speed, heading.
//
// State per fix: x, y (m), v (m/s, negative when backing), ψ (rad), ω (rad/s); between fixes a
// coordinated turn (constant v and ω) driven by white acceleration and white yaw acceleration. The
// estimate is the most probable whole path: all residuals, of measurements and of the motion model, are
// minimised together by Gauss-Newton steps. The normal matrix is block tridiagonal, so a step is one way
// there and back over the day's fixes: the same answer as an iterated extended Kalman filter with
// Rauch-Tung-Striebel smoothing (Bell, "The iterated Kalman smoother as a Gauss-Newton method", SIAM J.
// Optim. 4(3), 1994).
//
// Positions enter with a heavy-tailed weight, so that single bad fixes lose their pull.
import { COLUMN, KEPT, NEXT, STATE, eliminate, given } from "./blocks";
import { modulo, noughts } from "./columns";
import { stepTerms, turnedBy } from "./motion";
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
 * first guess of the states, five numbers a fix, with its headings unwrapped; it is used up.
 */
export interface Measured {
  readonly t_s: Floats;
  readonly x_m: Floats;
  readonly y_m: Floats;
  readonly speed_m_s: Floats;
  readonly course_rad: Floats;
  readonly joined: Flags;
  readonly sigma_m: number;
  readonly start: Floats;
}

/** The most probable path through the fixes; headings unwrapped. */
export function smooth(told: Measured): Motion {
  const n = told.t_s.length;
  const s = told.start;
  const kept = new Float64Array(KEPT * n);
  const frame = new Float64Array(2 * n);
  const last = new Float64Array(n);
  const m = new Float64Array(COLUMN * COLUMN);
  const x = new Float64Array(COLUMN);
  x[STATE] = -1;
  const turns = new Uint8Array(n).fill(1);
  for (let round = 0; round < ROUNDS; round++) {
    there(s, told, turns, round > 0 ? 1 / (9 * told.sigma_m ** 2) : 0, kept, frame, m.fill(0));
    const largest = back(s, told.t_s, kept, frame, last, turns, x);
    if (round >= 2 && largest < STILL) break;
  }
  const [x_m, y_m, speed_m_s, heading_rad, turn_rad_s] = noughts(STATE, n);
  for (let i = 0, at = 0; i < n; i++) {
    x_m[i] = s[at++];
    y_m[i] = s[at++];
    speed_m_s[i] = s[at++];
    heading_rad[i] = s[at++];
    turn_rad_s[i] = s[at++];
  }
  return { x_m, y_m, speed_m_s, heading_rad, turn_rad_s };
}

/**
 * Eliminates fix after fix from the states `s`, five numbers each; `far` is how much less they weigh by the square of
 * their distance. `frame` becomes cosine and sine of the frame that each is looked at in; `m` is noughts, for scratch. `turns` are the fixes soon before a turn; those
 * soon after one are found on the way.
 */
function there(s: Floats, told: Measured, turns: Flags, far: number, kept: Floats, frame: Floats, m: Floats): void {
  let c = 1;
  let sn = 0;
  let since = -Infinity;
  for (let i = 0; i < turns.length; i++) {
    const now = told.t_s[i];
    if (Math.abs(s[STATE * i + 4]) > TURNING) since = now;
    if (i + 1 < turns.length && told.joined[i]) {
      const h = told.t_s[i + 1] - now;
      const mid = s[STATE * i + 3] + (s[STATE * i + 4] * h) / 2;
      const cosine = Math.cos(mid);
      const sine = Math.sin(mid);
      turnedBy(m, cosine * c + sine * sn, sine * c - cosine * sn);
      c = cosine;
      sn = sine;
      const soon = turns[i] | turns[i + 1];
      stepTerms(s, STATE * i, h, soon === 1 || now - since <= REACH_S, c, sn, m);
    }
    frame[2 * i] = c;
    frame[2 * i + 1] = sn;
    measured(s, told, i, far, c, sn, m);
    eliminate(m, kept, KEPT * i);
  }
}

/**
 * Takes the step from the last fix back, calmed in heading; how much it changed at most. `turns` become the fixes in a
 * turn or soon before one; `x` is room for the unknowns of two fixes with a −1 between them.
 */
function back(s: Floats, t_s: Floats, kept: Floats, frame: Floats, last: Floats, turns: Flags, x: Floats): number {
  let largest = 0;
  let east = 0;
  let north = 0;
  let until = Infinity;
  for (let i = last.length - 1; i >= 0; i--) {
    const c = frame[2 * i];
    const sn = frame[2 * i + 1];
    x.copyWithin(NEXT, 0, STATE);
    x[NEXT] = c * north - sn * east;
    x[NEXT + 3] = c * east + sn * north;
    given(x, kept, KEPT * i);
    east = c * x[3] - sn * x[0];
    north = sn * x[3] + c * x[0];
    const turn = Math.min(Math.max(x[1], -1), 1);
    // near a stop the frame turns with the heading that is sought: such steps swing
    const calm = turn * last[i] < 0 ? CALM : 1;
    last[i] = turn * calm;
    const at = STATE * i;
    s[at] += east * calm;
    s[at + 1] += north * calm;
    s[at + 2] += x[4] * calm;
    s[at + 3] += last[i];
    s[at + 4] += x[2] * calm;
    const now = t_s[i];
    if (Math.abs(s[at + 4]) > TURNING) until = now;
    turns[i] = until - now <= REACH_S ? 1 : 0;
    const most = Math.max(Math.abs(east), Math.abs(north), Math.abs(x[4]), Math.abs(turn), Math.abs(x[2]));
    largest = Math.max(largest, most * calm);
  }
  return largest;
}

/**
 * Adds what was measured at a fix to its normal equations, in the frame of a cosine and sine; `far` is how much less
 * it weighs by the square of its distance.
 */
function measured(s: Floats, told: Measured, i: number, far: number, c: number, sn: number, m: Floats): void {
  const variance = told.sigma_m * told.sigma_m;
  const at = STATE * i;
  const rx = s[at] - told.x_m[i];
  const ry = s[at + 1] - told.y_m[i];
  const w = 1 / (1 + (rx * rx + ry * ry) * far) / variance;
  m[36] += w;
  m[0] += w;
  m[38] -= w * (c * rx + sn * ry);
  m[5] -= w * (c * ry - sn * rx);
  m[48] += 1e-9;
  const speed = told.speed_m_s[i];
  if (Number.isFinite(speed)) {
    const vw = 1 / (SPEED_SIGMA_M_S * SPEED_SIGMA_M_S);
    m[48] += vw;
    m[49] -= vw * (s[at + 2] - speed);
  }
  m[12] += 1e-6;
  const course = told.course_rad[i];
  if (Number.isFinite(course)) {
    const sigma = COURSE_SIGMA_RAD * (1 + 1 / Math.max(Math.abs(s[at + 2]), 0.3));
    const cw = 1 / (sigma * sigma);
    const off = modulo(s[at + 3] - course + Math.PI, 2 * Math.PI) - Math.PI;
    m[12] += cw;
    m[16] -= (cw / (1 + 4 * off * off)) * off;
  }
  m[24] += 1e-4;
  m[27] -= 1e-4 * s[at + 4];
}
