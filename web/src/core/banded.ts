// Symmetric systems whose entries all lie near the diagonal: Cholesky in place, in O(n · reach²).
//
// Row i of the lower half is stored from column i − reach to the diagonal, one row after another:
// entry (i, k) stands at i · (reach + 1) + k − i + reach. That is LAPACK's upper band, column by column.
import type { Floats } from "./words";

/**
 * The Cholesky factor L of a symmetric positive definite band, written over it; entries left of the
 * first column are not looked at.
 */
export function factored(band: Floats, reach: number): Floats {
  const width = reach + 1;
  for (let i = 0; i * width < band.length; i++) {
    const row = i * width + reach - i;
    const first = Math.max(i - reach, 0);
    for (let k = first; k <= i; k++) {
      const other = k * width + reach - k;
      let sum = band[row + k];
      for (let m = Math.max(first, k - reach); m < k; m++) sum -= band[row + m] * band[other + m];
      band[row + k] = k < i ? sum / band[other + k] : Math.sqrt(sum);
    }
  }
  return band;
}

/** Solves L Lᵀ x = rhs with a factor from `factored`; x is written over the right-hand side. */
export function solved(factor: Floats, reach: number, rhs: Floats): Floats {
  const width = reach + 1;
  const n = rhs.length;
  for (let i = 0; i < n; i++) {
    const row = i * width + reach - i;
    for (let m = Math.max(i - reach, 0); m < i; m++) rhs[i] -= factor[row + m] * rhs[m];
    rhs[i] /= factor[row + i];
  }
  for (let i = n - 1; i >= 0; i--) {
    const row = i * width + reach - i;
    rhs[i] /= factor[row + i];
    for (let m = Math.max(i - reach, 0); m < i; m++) rhs[m] -= factor[row + m] * rhs[i];
  }
  return rhs;
}
