// The coordinated turn from one fix to the next, as normal equations for the smoother.
//
// Per step the residuals are taken along and across the mean heading, where their covariance falls into
// an (along, speed) and an (across, heading, turn) block.
import type { Flags, Floats } from "./words";

/** Acceleration along the path, m/s² per root Hz. */
const ACCELERATION = 0.4;
/** Yaw acceleration, rad/s² per root Hz: in turns, and on straights. */
const YAW_TURN = 0.15;
const YAW_STRAIGHT = 0.03;
/** Sideways slip of the model itself, m per root second: keeps a standing vehicle solvable. */
const SLIP = 0.01;

/** Unknowns of a fix (x, y, v, ψ, ω), and how far from the diagonal the matrix reaches. */
export const STATE = 5;
export const REACH = 2 * STATE - 1;

/** Inverse covariance of a step's motion noise: along (place, speed) and across (place, heading, turn). */
class Information {
  a11 = 0;
  a13 = 0;
  a33 = 0;
  b22 = 0;
  b24 = 0;
  b25 = 0;
  b44 = 0;
  b45 = 0;
  b55 = 0;

  set(speed: number, dt: number, turning: boolean): void {
    const qa = ACCELERATION ** 2;
    const qy = (turning ? YAW_TURN : YAW_STRAIGHT) ** 2;
    const [dt2, dt3] = [dt * dt, dt * dt * dt];
    const slip = SLIP ** 2 * dt;
    const along = (qa * dt3) / 3 + slip;
    const both = (qa * dt2) / 2;
    const free = qa * dt;
    let scale = 1 / (along * free - both * both);
    this.a11 = free * scale;
    this.a13 = -both * scale;
    this.a33 = along * scale;
    const q22 = (qy * speed * speed * dt3 * dt2) / 20 + slip;
    const q24 = (qy * speed * dt2 * dt2) / 8;
    const q25 = (qy * speed * dt3) / 6;
    const q44 = (qy * dt3) / 3 + 1e-8 * dt;
    const q45 = (qy * dt2) / 2;
    const q55 = qy * dt;
    const m22 = q44 * q55 - q45 * q45;
    const m24 = q25 * q45 - q24 * q55;
    const m25 = q24 * q45 - q25 * q44;
    scale = 1 / (q22 * m22 + q24 * m24 + q25 * m25);
    this.b22 = m22 * scale;
    this.b24 = m24 * scale;
    this.b25 = m25 * scale;
    this.b44 = (q22 * q55 - q25 * q25) * scale;
    this.b45 = (q24 * q25 - q22 * q45) * scale;
    this.b55 = (q22 * q44 - q24 * q24) * scale;
  }
}

/**
 * Adds the motion model's terms at the state `s` (five a fix) to the band of JᵀWJ, stored as `banded`
 * wants it, and to the gradient. Steps that are not `joined` say nothing.
 */
export function motionTerms(
  s: Floats,
  dt: Floats,
  joined: Flags,
  turning: Flags,
  band: Floats,
  grad: Floats,
): void {
  const w = new Information();
  const q = new Float64Array(STATE * STATE);
  for (let k = 0; k < dt.length; k++) {
    if (!joined[k]) continue;
    const [a, b, h] = [STATE * k, STATE * k + STATE, dt[k]];
    const [v, psi, om] = [s[a + 2], s[a + 3], s[a + 4]];
    const mid = psi + (om * h) / 2;
    const [c, sn] = [Math.cos(mid), Math.sin(mid)];
    const lean = (om * h) / 2;
    const reach = (lean === 0 ? 1 : Math.sin(lean) / lean) * h;
    const [dx, dy] = [s[a] - s[b], s[a + 1] - s[b + 1]];
    const e1 = c * dx + sn * dy + v * reach;
    const e2 = c * dy - sn * dx;
    const e3 = v - s[b + 2];
    const e4 = psi + om * h - s[b + 3];
    const e5 = om - s[b + 4];
    w.set(Math.abs(v), h, turning[k] === 1);
    const swing = v * reach;
    const half = (swing * h) / 2;
    const w1 = w.a11 * e1 + w.a13 * e3;
    const w3 = w.a13 * e1 + w.a33 * e3;
    const w2 = w.b22 * e2 + w.b24 * e4 + w.b25 * e5;
    const w4 = w.b24 * e2 + w.b44 * e4 + w.b45 * e5;
    const w5 = w.b25 * e2 + w.b45 * e4 + w.b55 * e5;
    const [gx, gy] = [c * w1 - sn * w2, sn * w1 + c * w2];
    grad[a] += gx;
    grad[a + 1] += gy;
    grad[a + 2] += reach * w1 + w3;
    grad[a + 3] += swing * w2 + w4;
    grad[a + 4] += half * w2 + h * w4 + w5;
    grad[b] -= gx;
    grad[b + 1] -= gy;
    grad[b + 2] -= w3;
    grad[b + 3] -= w4;
    grad[b + 4] -= w5;
    weighted(w, c, sn, reach, swing, half, h, q);
    ownBlock(band, a, q, c, sn, reach, swing, half, h);
    nextBlock(band, b, w, c, sn);
  }
}

/** W J of one step: five residuals (columns of `q`) for each of the five unknowns (rows). */
function weighted(
  w: Information,
  c: number,
  sn: number,
  reach: number,
  swing: number,
  half: number,
  dt: number,
  q: Floats,
): void {
  q.fill(0);
  q[0] = w.a11 * c;
  q[1] = -w.b22 * sn;
  q[2] = w.a13 * c;
  q[3] = -w.b24 * sn;
  q[4] = -w.b25 * sn;
  q[5] = w.a11 * sn;
  q[6] = w.b22 * c;
  q[7] = w.a13 * sn;
  q[8] = w.b24 * c;
  q[9] = w.b25 * c;
  q[10] = w.a11 * reach + w.a13;
  q[12] = w.a13 * reach + w.a33;
  q[16] = w.b22 * swing + w.b24;
  q[18] = w.b24 * swing + w.b44;
  q[19] = w.b25 * swing + w.b45;
  q[21] = w.b22 * half + w.b24 * dt + w.b25;
  q[23] = w.b24 * half + w.b44 * dt + w.b45;
  q[24] = w.b25 * half + w.b45 * dt + w.b55;
}

/** The block of the step's first fix, and the one that ties it to the second. */
function ownBlock(
  band: Floats,
  at: number,
  q: Floats,
  c: number,
  sn: number,
  reach: number,
  swing: number,
  half: number,
  dt: number,
): void {
  for (let col = 0; col < STATE; col++) {
    const from = STATE * col;
    const [q1, q2, q3, q4, q5] = [q[from], q[from + 1], q[from + 2], q[from + 3], q[from + 4]];
    const ahead = c * q1 - sn * q2;
    const aside = sn * q1 + c * q2;
    const row = (at + col) * (REACH + 1) + REACH - col;
    band[row] += ahead;
    if (col > 0) band[row + 1] += aside;
    if (col > 1) band[row + 2] += reach * q1 + q3;
    if (col > 2) band[row + 3] += swing * q2 + q4;
    if (col > 3) band[row + 4] += half * q2 + dt * q4 + q5;
    const tie = (at + STATE) * (REACH + 1) + STATE - 1 + col;
    band[tie] -= ahead;
    band[tie + REACH] -= aside;
    band[tie + 2 * REACH] -= q3;
    band[tie + 3 * REACH] -= q4;
    band[tie + 4 * REACH] -= q5;
  }
}

/** The block of the step's second fix. */
function nextBlock(band: Floats, at: number, w: Information, c: number, sn: number): void {
  const add = (row: number, col: number, value: number): void => {
    band[(at + col) * (REACH + 1) + REACH + row - col] += value;
  };
  add(0, 0, w.a11 * c * c + w.b22 * sn * sn);
  add(0, 1, (w.a11 - w.b22) * c * sn);
  add(1, 1, w.a11 * sn * sn + w.b22 * c * c);
  add(0, 2, w.a13 * c);
  add(1, 2, w.a13 * sn);
  add(0, 3, -w.b24 * sn);
  add(1, 3, w.b24 * c);
  add(0, 4, -w.b25 * sn);
  add(1, 4, w.b25 * c);
  add(2, 2, w.a33);
  add(3, 3, w.b44);
  add(3, 4, w.b45);
  add(4, 4, w.b55);
}
