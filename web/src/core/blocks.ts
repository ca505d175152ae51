// Least squares over a chain of fixes, one eliminated after another: Cholesky's L D Lᵀ, block by block.
//
// The normal equations of a fix and the next are columns of 11: three and two unknowns of the one, the
// right-hand side, three and two of the other. A step ties the three to the three and the two to the two. Only
// what is on the diagonal and under it is looked at.
import { UnsownError } from "./errors";
import type { Floats } from "./words";

/** Unknowns of a fix, where those of the next begin, what stands in a column, how much is kept of a fix. */
export const [STATE, NEXT, COLUMN, KEPT] = [5, 6, 11, 34];

/** What the column of an unknown ends before: nothing ties the three to the two of the next. */
const endOf = (j: number): number => (j < 3 ? NEXT + 3 : COLUMN);

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
    const end = endOf(j);
    const pivot = m[own + j];
    if (!(pivot > 0)) {
      throw new UnsownError("not-positive", `expected a positive definite system, but row ${j} came out as ${pivot}`);
    }
    const part = 1 / pivot;
    for (let k = j + 1; k < end; k++) {
      const by = m[own + k] * part;
      const column = COLUMN * k;
      kept[to++] = by;
      for (let i = k; i < end; i++) m[column + i] -= by * m[own + i];
    }
  }
  for (let k = 0; k < STATE; k++) {
    const column = COLUMN * k;
    const next = COLUMN * (k + NEXT) + NEXT;
    const right = COLUMN * STATE + NEXT + k;
    for (let i = 0; i < STATE; i++) {
      m[column + i] = m[next + i];
      m[next + i] = 0;
      m[column + NEXT + i] = 0;
    }
    m[column + STATE] = m[right];
    m[right] = 0;
  }
}

/** The five unknowns of a fix from those of the next, which stand behind them and a −1. */
export function given(x: Floats, kept: Floats, at: number): void {
  let from = at + KEPT;
  for (let j = STATE - 1; j >= 0; j--) {
    let sum = 0;
    for (let i = endOf(j) - 1; i > j; i--) sum -= kept[--from] * x[i];
    x[j] = sum;
  }
}
