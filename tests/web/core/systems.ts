// Systems for the sparse solver, and the same worked out densely.
import type { Chance } from "../../../web/src/core/chance";
import { type Sparse, Writer } from "../../../web/src/core/sparse";

export interface Scattered {
  readonly matrix: Sparse;
  readonly point: Int32Array;
  readonly x: Float64Array;
  readonly y: Float64Array;
}

/**
 * A least-squares system of full rank: `rows` rows over some of the unknowns, then one row of its
 * own for each unknown. Some unknowns share a point on the ground, some stand nowhere; rows join
 * any of them, near or far.
 */
export function scattered(chance: Chance, rows: number, unknowns: number): Scattered {
  const points = Math.max(1, Math.ceil(unknowns / 2));
  const whole = (below: number): number => Math.floor(chance.uniform() * below);
  const point = Int32Array.from({ length: unknowns }, () =>
    chance.uniform() < 0.15 ? -1 : whole(points),
  );
  const to = new Writer(unknowns);
  for (let r = 0; r < rows; r++) {
    for (let k = whole(6); k >= 0; k--) to.add(whole(unknowns), chance.normal());
    to.end();
  }
  for (let u = 0; u < unknowns; u++) {
    to.add(u, 0.5 + chance.uniform());
    to.end();
  }
  // some points on one line, so that cuts meet equal coordinates
  const x = Float64Array.from({ length: points }, () => Math.round(chance.normal() * 3));
  return { matrix: to.matrix(), point, x, y: chance.normals(points) };
}

/**
 * A grid of points joined to their neighbours, two unknowns a point, and one mean that all rows
 * see.
 */
export function grid(chance: Chance, wide: number, high: number): Scattered {
  const n = wide * high;
  const to = new Writer(2 * n + 1);
  const join = (p: number, q: number): void => {
    for (const axis of [0, n]) {
      to.add(axis + p, 1 + chance.uniform());
      to.add(axis + q, -1);
      to.add(2 * n, 0.3);
      to.end();
    }
  };
  for (let p = 0; p < n; p++) {
    if ((p + 1) % wide !== 0) join(p, p + 1);
    if (p + wide < n) join(p, p + wide);
  }
  for (let u = 0; u <= 2 * n; u++) {
    to.add(u, 0.2);
    to.end();
  }
  return {
    matrix: to.matrix(),
    point: Int32Array.from({ length: 2 * n + 1 }, (_, u) => (u < 2 * n ? u % n : -1)),
    x: Float64Array.from({ length: n }, (_, p) => p % wide),
    y: Float64Array.from({ length: n }, (_, p) => Math.floor(p / wide)),
  };
}

export function dense(a: Sparse): number[][] {
  return Array.from({ length: a.rows }, (_, r) => {
    const row = Array.from({ length: a.columns }, () => 0);
    for (let k = a.start[r] ?? 0; k < (a.start[r + 1] ?? 0); k++) {
      row[a.column[k] ?? -1] = a.value[k] ?? Number.NaN;
    }
    return row;
  });
}

/** AᵀWA, densely. */
export function normal(a: Sparse, weight: ArrayLike<number>): number[][] {
  const out = Array.from({ length: a.columns }, () => Array.from({ length: a.columns }, () => 0));
  dense(a).forEach((row, r) => {
    row.forEach((one, i) => {
      if (one === 0) return;
      row.forEach((two, j) => {
        const line = out[i] ?? [];
        line[j] = (line[j] ?? 0) + (weight[r] ?? Number.NaN) * one * two;
      });
    });
  });
  return out;
}

/** The solution of a dense system by elimination with the largest pivot. */
export function eliminated(
  matrix: readonly (readonly number[])[],
  rhs: ArrayLike<number>,
): number[] {
  const rows = matrix.map((row, i) => [...row, rhs[i] ?? Number.NaN]);
  const at = (r: number, c: number): number => rows[r]?.[c] ?? Number.NaN;
  const n = rows.length;
  for (let c = 0; c < n; c++) {
    let pivot = c;
    for (let r = c; r < n; r++) if (Math.abs(at(r, c)) > Math.abs(at(pivot, c))) pivot = r;
    [rows[c], rows[pivot]] = [rows[pivot] ?? [], rows[c] ?? []];
    for (let r = c + 1; r < n; r++) {
      const by = at(r, c) / at(c, c);
      if (by !== 0) rows[r] = (rows[r] ?? []).map((v, k) => v - by * at(c, k));
    }
  }
  const out = Array.from({ length: n }, () => 0);
  for (let r = n - 1; r >= 0; r--) {
    let sum = at(r, n);
    for (let c = r + 1; c < n; c++) sum -= at(r, c) * (out[c] ?? 0);
    out[r] = sum / at(r, r);
  }
  return out;
}
