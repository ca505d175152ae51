// Symmetric matrices brought to three diagonals, in which I + sA is quick to weigh for every s.
import type { Floats } from "./words";

/** T = QᵀAQ by its diagonal and the one below, and z = Qᵀb. */
export interface Tridiagonal {
  readonly diagonal: Floats;
  readonly below: Floats;
  readonly z: Floats;
}

/**
 * Bring a symmetric matrix of n rows, of which the lower half is looked at, to three diagonals, and
 * a vector along; both are used up. Householder's reflections (G. Golub and C. Van Loan, Matrix
 * Computations, section 8.3, from memory).
 */
export function tridiagonal(a: Floats, z: Floats): Tridiagonal {
  const n = z.length;
  const below = new Float64Array(Math.max(n - 1, 0));
  const v = new Float64Array(n);
  const p = new Float64Array(n);
  for (let k = 0; k < n - 2; k++) {
    let square = 0;
    for (let i = k + 2; i < n; i++) square += a[i * n + k] * a[i * n + k];
    const head = a[(k + 1) * n + k];
    below[k] = head;
    if (square === 0) continue;
    const length = Math.sqrt(head * head + square);
    below[k] = head > 0 ? -length : length;
    for (let i = k + 1; i < n; i++) v[i] = a[i * n + k];
    v[k + 1] -= below[k];
    reflect(a, z, v, p, k + 1, 2 / (v[k + 1] * v[k + 1] + square));
  }
  if (n > 1) below[n - 2] = a[(n - 1) * n + n - 2];
  return { diagonal: Float64Array.from({ length: n }, (_, i) => a[i * n + i]), below, z };
}

/** H A H and H z with H = I − βvvᵀ, in rows and columns from `from` on; p is for scratch. */
function reflect(a: Floats, z: Floats, v: Floats, p: Floats, from: number, beta: number): void {
  const n = z.length;
  let along = 0;
  for (let i = from; i < n; i++) {
    const row = i * n;
    const vi = v[i];
    let sum = a[row + i] * vi;
    for (let j = from; j < i; j++) {
      sum += a[row + j] * v[j];
      p[j] += a[row + j] * vi;
    }
    p[i] = sum;
    along += vi * z[i];
  }
  let inner = 0;
  for (let i = from; i < n; i++) inner += p[i] * v[i];
  for (let i = from; i < n; i++) {
    p[i] = beta * (p[i] - (beta / 2) * inner * v[i]);
    z[i] -= beta * along * v[i];
  }
  for (let i = from; i < n; i++) {
    const row = i * n;
    const [vi, pi] = [v[i], p[i]];
    for (let j = from; j <= i; j++) a[row + j] -= vi * p[j] + pi * v[j];
  }
}

/**
 * zᵀ(I + sT)⁻¹z and the logarithm of the determinant of I + sT, which must be positive definite.
 */
export function weighed(
  { diagonal, below, z }: Tridiagonal,
  s: number,
): { quadratic: number; logDeterminant: number } {
  let quadratic = 0;
  let logDeterminant = 0;
  let product = 1;
  let [pivot, left] = [1, 0];
  for (let i = 0; i < z.length; i++) {
    const beside = i > 0 ? s * below[i - 1] : 0;
    const by = beside / pivot;
    pivot = 1 + s * diagonal[i] - by * beside;
    left = z[i] - by * left;
    quadratic += (left * left) / pivot;
    product *= pivot;
    if (product > 1e200) {
      logDeterminant += Math.log(product);
      product = 1;
    }
  }
  return { quadratic, logDeterminant: logDeterminant + Math.log(product) };
}
