// Symmetric systems whose entries all lie near the diagonal: Cholesky in place, in O(n · reach²).
//
// Row i of the lower half is stored from column i − reach to the diagonal, one row after another:
// entry (i, k) stands at i · (reach + 1) + k − i + reach. That is LAPACK's upper band, column by column.
import { UnsownError } from "./errors";
import type { Floats } from "./words";

/**
 * The Cholesky factor L of a symmetric positive definite band, written over it; entries left of the
 * first column are not looked at.
 *
 * Throws UnsownError where the matrix is not positive definite.
 */
export function factored(band: Floats, reach: number): Floats {
  const width = reach + 1;
  const n = band.length / width;
  for (let i = 0; i < n; i++) {
    const row = i * width + reach - i;
    const first = Math.max(i - reach, 0);
    for (let k = first; k < i; k++) {
      const other = k * width + reach - k;
      let sum = band[row + k];
      for (let m = Math.max(first, k - reach); m < k; m++) sum -= band[row + m] * band[other + m];
      band[row + k] = sum / band[other + k];
    }
    let own = band[row + i];
    for (let m = first; m < i; m++) own -= band[row + m] * band[row + m];
    if (!(own > 0)) {
      throw new UnsownError(
        "not-positive",
        `expected a positive definite system, but row ${i} of ${n} is not`,
      );
    }
    band[row + i] = Math.sqrt(own);
  }
  return band;
}

/** Solves L Lᵀ x = rhs with a factor from `factored`; x is written over the right-hand side. */
export function solved(factor: Floats, reach: number, rhs: Floats): Floats {
  const width = reach + 1;
  const n = rhs.length;
  for (let i = 0; i < n; i++) {
    const row = i * width + reach - i;
    let sum = rhs[i];
    for (let m = Math.max(i - reach, 0); m < i; m++) sum -= factor[row + m] * rhs[m];
    rhs[i] = sum / factor[row + i];
  }
  return solvedUp(factor, reach, rhs);
}

/** Solves Lᵀ x = rhs alone (a draw from a Gaussian needs just that), over the right-hand side. */
export function solvedUp(factor: Floats, reach: number, rhs: Floats): Floats {
  const width = reach + 1;
  for (let i = rhs.length - 1; i >= 0; i--) {
    const row = i * width + reach - i;
    const value = rhs[i] / factor[row + i];
    rhs[i] = value;
    for (let m = Math.max(i - reach, 0); m < i; m++) rhs[m] -= factor[row + m] * value;
  }
  return rhs;
}
