// The coordinated turn from one fix to the next, as normal equations for the smoother.
//
// Per step the residuals are taken along and across the mean heading, where their covariance falls into
// an (along, speed) and an (across, heading, turn) block. So the unknowns of a fix are looked at in the
// frame of the step that leaves it: across, heading, turn, along, speed. `blocks` says how they stand.
import type { Floats } from "./words";

/** Acceleration along the path, m/s² per root Hz. */
const ACCELERATION = 0.4;
/** Yaw acceleration, rad/s² per root Hz: in turns, and on straights. */
const YAW_TURN = 0.15;
const YAW_STRAIGHT = 0.03;
/** Sideways slip of the model itself, m per root second: keeps a standing vehicle solvable. */
const SLIP = 0.01;
/** Where along and across stand beside heading, turn, speed and the right-hand side. */
const PAIRS = [[14, 1], [25, 2], [37, 4], [38, 5]] as const;

/** Turns the equations of the first fix into a frame that stands at a cosine and sine to theirs. */
export function turnedBy(m: Floats, c: number, s: number): void {
  const [uu, uw, ww] = [m[36], m[3], m[0]];
  m[36] = c * c * uu + 2 * c * s * uw + s * s * ww;
  m[3] = c * s * (ww - uu) + (c * c - s * s) * uw;
  m[0] = s * s * uu - 2 * c * s * uw + c * c * ww;
  for (const [i, j] of PAIRS) {
    const along = m[i];
    m[i] = c * along + s * m[j];
    m[j] = c * m[j] - s * along;
  }
}

/**
 * Adds what the step of so many seconds says, from the state at `a` to the one after it, in the frame of its
 * cosine and sine. What it says of the second fix is all that is known of that.
 */
export function stepTerms(st: Floats, a: number, h: number, turning: boolean, c: number, s: number, m: Floats): void {
  const v = st[a + 2];
  const om = st[a + 4];
  // never nought: a branch that the first round does not take has the code made anew
  const lean = (om * h) / 2 + 1e-300;
  const reach = (Math.sin(lean) / lean) * h;
  const dx = st[a] - st[a + 5];
  const dy = st[a + 1] - st[a + 6];
  const e1 = c * dx + s * dy + v * reach;
  const e2 = c * dy - s * dx;
  const e3 = v - st[a + 7];
  const e4 = st[a + 3] + om * h - st[a + 8];
  const e5 = om - st[a + 9];
  // inverse covariance along
  const h2 = h * h;
  const h3 = h2 * h;
  const slip = SLIP ** 2 * h;
  const q11 = (ACCELERATION ** 2 * h3) / 3 + slip;
  const q13 = (ACCELERATION ** 2 * h2) / 2;
  const q33 = ACCELERATION ** 2 * h;
  let scale = 1 / (q11 * q33 - q13 * q13);
  const a11 = q33 * scale;
  const a13 = -q13 * scale;
  const a33 = q11 * scale;
  // and across
  const yaw = (turning ? YAW_TURN : YAW_STRAIGHT) ** 2;
  const q22 = (yaw * v * v * h3 * h2) / 20 + slip;
  const q24 = (yaw * Math.abs(v) * h2 * h2) / 8;
  const q25 = (yaw * Math.abs(v) * h3) / 6;
  const q44 = (yaw * h3) / 3 + 1e-8 * h;
  const q45 = (yaw * h2) / 2;
  const q55 = yaw * h;
  const m22 = q44 * q55 - q45 * q45;
  const m24 = q25 * q45 - q24 * q55;
  const m25 = q24 * q45 - q25 * q44;
  scale = 1 / (q22 * m22 + q24 * m24 + q25 * m25);
  const b22 = m22 * scale;
  const b24 = m24 * scale;
  const b25 = m25 * scale;
  const b44 = (q22 * q55 - q25 * q25) * scale;
  const b45 = (q24 * q25 - q22 * q45) * scale;
  const b55 = (q22 * q44 - q24 * q24) * scale;
  const swing = v * reach;
  const half = (swing * h) / 2;
  // columns of the second fix
  m[108] = a11;
  m[109] = a13;
  m[120] = a33;
  m[64] = a11 * e1 + a13 * e3;
  m[65] = a13 * e1 + a33 * e3;
  // rows of the second fix in the columns of the first
  m[42] = -a11;
  m[43] = -a13;
  m[53] = -reach * a11 - a13;
  m[54] = -reach * a13 - a33;
  // across, heading and turn of the second fix: what they say of themselves, the right-hand side and the first fix
  for (let k = 0; k < 3; k++) {
    const p = k === 0 ? b22 : k === 1 ? b24 : b25;
    const q = k === 0 ? b24 : k === 1 ? b44 : b45;
    const r = k === 0 ? b25 : k === 1 ? b45 : b55;
    m[72 + 11 * k] = p;
    m[73 + 11 * k] = q;
    m[74 + 11 * k] = r;
    m[61 + k] = p * e2 + q * e4 + r * e5;
    m[6 + k] = -p;
    m[17 + k] = -swing * p - q;
    m[28 + k] = -half * p - h * q - r;
  }
  // and what they come to for the first
  m[36] += a11;
  m[37] -= m[53];
  m[48] -= reach * m[53] + m[54];
  m[0] += b22;
  m[1] -= m[17];
  m[2] -= m[28];
  m[12] -= swing * m[17] + m[18];
  m[13] -= swing * m[28] + m[29];
  m[24] -= half * m[28] + h * m[29] + m[30];
  m[38] -= m[64];
  m[49] -= reach * m[64] + m[65];
  m[5] -= m[61];
  m[16] -= swing * m[61] + m[62];
  m[27] -= half * m[61] + h * m[62] + m[63];
}
