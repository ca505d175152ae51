// Least squares over a chain of fixes, one eliminated after another: Cholesky's L D Lᵀ, block by block.
//
// The normal equations of a fix and the next are columns of 11: five unknowns of the one, five of the other,
// and the right-hand side. Only what is on the diagonal and under it is looked at.
import { UnsownError } from "./errors";
import type { Floats } from "./words";

/** Unknowns of a fix, what stands in a column, and how much is kept of a fix. */
export const STATE = 5;
export const COLUMN = 2 * STATE + 1;
export const KEPT = 40;

/**
 * Takes the first of two fixes out of their equations: what gives it once the other is known goes to `kept`
 * from `at` on, and the other becomes the first.
 *
 * Throws UnsownError where the matrix is not positive definite.
 */
export function eliminate(m: Floats, kept: Floats, at: number): void {
  let to = at;
  for (let j = 0; j < STATE; j++) {
    const own = COLUMN * j;
    const pivot = m[own + j];
    if (!(pivot > 0)) {
      throw new UnsownError("not-positive", `expected a positive definite system, but row ${j} came out as ${pivot}`);
    }
    const part = 1 / pivot;
    for (let k = j + 1; k < COLUMN; k++) {
      const by = m[own + k] * part;
      kept[to++] = by;
      // a step ties along to along and across to across
      if (by === 0 || k === COLUMN - 1) continue;
      const column = COLUMN * k;
      for (let i = k; i < STATE; i++) m[column + i] -= by * m[own + i];
      m[column + 5] -= by * m[own + 5];
      m[column + 6] -= by * m[own + 6];
      m[column + 7] -= by * m[own + 7];
      m[column + 8] -= by * m[own + 8];
      m[column + 9] -= by * m[own + 9];
      m[column + 10] -= by * m[own + 10];
    }
  }
  for (let k = 0; k < STATE; k++) {
    const column = COLUMN * k;
    const next = COLUMN * (k + STATE);
    for (let i = 0; i < STATE; i++) {
      m[column + i] = m[next + STATE + i];
      m[next + STATE + i] = 0;
      m[column + STATE + i] = 0;
    }
    m[column + COLUMN - 1] = m[next + COLUMN - 1];
    m[next + COLUMN - 1] = 0;
  }
}

/** The five unknowns of a fix from those of the next, which stand behind them; at last stands −1. */
export function given(x: Floats, kept: Floats, at: number): void {
  let from = at + KEPT;
  for (let j = STATE - 1; j >= 0; j--) {
    let sum = 0;
    for (let i = COLUMN - 1; i > j; i--) sum -= kept[--from] * x[i];
    x[j] = sum;
  }
}
