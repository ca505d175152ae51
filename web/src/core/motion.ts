// The coordinated turn from one fix to the next, as normal equations for the smoother.
//
// Per step the residuals are taken along and across the mean heading, where their covariance falls into
// an (along, speed) and an (across, heading, turn) block. So the unknowns of a fix are looked at in the
// frame of the step that leaves it: along, speed, across, heading, turn. `blocks` says how they stand.
import type { Floats } from "./words";

/** Acceleration along the path, m/s² per root Hz. */
const ACCELERATION = 0.4;
/** Yaw acceleration, rad/s² per root Hz: in turns, and on straights. */
const YAW_TURN = 0.15;
const YAW_STRAIGHT = 0.03;
/** Sideways slip of the model itself, m per root second: keeps a standing vehicle solvable. */
const SLIP = 0.01;
/** Where along and across stand beside speed, heading, turn and the right-hand side. */
const PAIRS = [[1, 13], [3, 25], [4, 26], [10, 32]] as const;

/** Turns the equations of the first fix into a frame that stands at a cosine and sine to theirs. */
export function turnedBy(m: Floats, c: number, s: number): void {
  const [uu, uw, ww] = [m[0], m[2], m[24]];
  m[0] = c * c * uu + 2 * c * s * uw + s * s * ww;
  m[2] = c * s * (ww - uu) + (c * c - s * s) * uw;
  m[24] = s * s * uu - 2 * c * s * uw + c * c * ww;
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
  const lean = (om * h) / 2;
  const reach = (lean === 0 ? 1 : Math.sin(lean) / lean) * h;
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
  m[60] = a11;
  m[61] = a13;
  m[72] = a33;
  m[84] = b22;
  m[85] = b24;
  m[86] = b25;
  m[96] = b44;
  m[97] = b45;
  m[108] = b55;
  m[65] = a11 * e1 + a13 * e3;
  m[76] = a13 * e1 + a33 * e3;
  m[87] = b22 * e2 + b24 * e4 + b25 * e5;
  m[98] = b24 * e2 + b44 * e4 + b45 * e5;
  m[109] = b25 * e2 + b45 * e4 + b55 * e5;
  // rows of the second fix in the columns of the first
  m[5] = -a11;
  m[6] = -a13;
  m[16] = -reach * a11 - a13;
  m[17] = -reach * a13 - a33;
  m[29] = -b22;
  m[30] = -b24;
  m[31] = -b25;
  m[40] = -swing * b22 - b24;
  m[41] = -swing * b24 - b44;
  m[42] = -swing * b25 - b45;
  m[51] = -half * b22 - h * b24 - b25;
  m[52] = -half * b24 - h * b44 - b45;
  m[53] = -half * b25 - h * b45 - b55;
  // and what they come to for the first
  m[0] += a11;
  m[1] -= m[16];
  m[12] -= reach * m[16] + m[17];
  m[24] += b22;
  m[25] -= m[40];
  m[26] -= m[51];
  m[36] -= swing * m[40] + m[41];
  m[37] -= swing * m[51] + m[52];
  m[48] -= half * m[51] + h * m[52] + m[53];
  m[10] -= m[65];
  m[21] -= reach * m[65] + m[76];
  m[32] -= m[87];
  m[43] -= swing * m[87] + m[98];
  m[54] -= half * m[87] + h * m[98] + m[109];
}
