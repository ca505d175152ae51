// Dense blocks: the part of Cholesky factors where all the arithmetic is.
//
// A block is held by rows of `stride`, and only what lies on or below its diagonal means anything;
// what lies above is scratch. Four rows by two columns are taken at once, so that of each number
// fetched several products are made.
import { UnsownError } from "./errors";
import type { Floats } from "./words";

/**
 * Factor the first `own` columns of a symmetric block of `size` in place: their part of the
 * lower-triangular factor, and below and right of it what is left to factor. There must be three
 * more rows of noughts below the block.
 */
export function factorFront(block: Floats, size: number, own: number, stride: number): void {
  for (let i = 0; i < size; i += 4) {
    const done = factorRows(block, i, Math.min(i, own), stride);
    factorCorner(block, i, Math.min(i + 4, size), done, own, stride);
  }
  for (let i = own; i < size; i += 4) {
    for (let j = own; j < Math.min(i + 4, size); j += 2) takeAway(block, i, j, own, stride);
  }
}

/** The factor's rows i to i + 3 in its columns 0 to `end`, by twos; tells how many it did. */
function factorRows(f: Floats, i: number, end: number, stride: number): number {
  let j = 0;
  for (; j + 1 < end; j += 2) {
    takeAway(f, i, j, j, stride);
    const at = j * stride + j;
    const first = 1 / f[at];
    const between = f[at + stride];
    const second = 1 / f[at + stride + 1];
    for (let r = i * stride + j, k = 0; k < 4; k++, r += stride) {
      f[r] *= first;
      f[r + 1] = (f[r + 1] - f[r] * between) * second;
    }
  }
  return j;
}

/** Rows i to `end` from column `from` on, up to the diagonal. */
function factorCorner(
  f: Floats,
  i: number,
  end: number,
  from: number,
  own: number,
  stride: number,
): void {
  for (let row = i; row < end; row++) {
    const r = row * stride;
    for (let j = from; j < own && j <= row; j++) {
      const a = j * stride;
      let sum = f[r + j];
      for (let k = 0; k < j; k++) sum -= f[r + k] * f[a + k];
      if (j < row) {
        f[r + j] = sum / f[a + j];
      } else if (sum > 0) {
        f[r + j] = Math.sqrt(sum);
      } else {
        throw new UnsownError(
          "not-positive",
          `expected a positive definite system, but row ${row} came out as ${sum}`,
        );
      }
    }
  }
}

/** Take what rows i to i + 3 and j, j + 1 make in their first columns out of where they cross. */
function takeAway(f: Floats, i: number, j: number, columns: number, stride: number): void {
  const r0 = i * stride;
  const r1 = r0 + stride;
  const r2 = r1 + stride;
  const r3 = r2 + stride;
  const a = j * stride;
  const b = a + stride;
  let s0 = 0;
  let s1 = 0;
  let s2 = 0;
  let s3 = 0;
  let t0 = 0;
  let t1 = 0;
  let t2 = 0;
  let t3 = 0;
  for (let k = 0; k < columns; k++) {
    const p = f[a + k];
    const q = f[b + k];
    const x0 = f[r0 + k];
    const x1 = f[r1 + k];
    const x2 = f[r2 + k];
    const x3 = f[r3 + k];
    s0 += x0 * p;
    t0 += x0 * q;
    s1 += x1 * p;
    t1 += x1 * q;
    s2 += x2 * p;
    t2 += x2 * q;
    s3 += x3 * p;
    t3 += x3 * q;
  }
  f[r0 + j] -= s0;
  f[r1 + j] -= s1;
  f[r2 + j] -= s2;
  f[r3 + j] -= s3;
  f[r0 + j + 1] -= t0;
  f[r1 + j + 1] -= t1;
  f[r2 + j + 1] -= t2;
  f[r3 + j + 1] -= t3;
}

/** The lower-triangular Cholesky factor of a whole symmetric matrix of n rows, in place. */
export function factorWhole(matrix: Floats, n: number): void {
  factorCorner(matrix, 0, n, 0, n, n);
}

/** Solve L x = b in place, L of n rows. */
export function solveLower(lower: Floats, n: number, b: Floats): void {
  for (let i = 0; i < n; i++) {
    let sum = b[i];
    for (let k = 0; k < i; k++) sum -= lower[i * n + k] * b[k];
    b[i] = sum / lower[i * n + i];
  }
}
