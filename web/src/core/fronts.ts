// What a Cholesky factor will look like, before any number is known: its fronts.
//
// The columns of one part of a dissection are taken out together as a dense block. The front of a
// part holds its own unknowns, and below them every later unknown that they meet, directly or through
// the parts they separate (the multifrontal method: I. S. Duff and J. K. Reid, ACM Trans. Math. Softw.
// 9 (1983), from memory).
import type { Meets, Part } from "./dissect";
import { rowsOfColumns } from "./sparse";
import type { Columns, Sparse } from "./sparse";
import type { Ints } from "./words";

/**
 * One front. Unknowns are named by their position in the order of elimination: its own are `first`
 * to `first + own`, `rows` all of it in order. `up` is where those that are not its own stand in the
 * front of the part that it hangs from. The sums from `sum` on stand at `spot` in the dense block,
 * which is held by rows of `stride`.
 */
export interface Front {
  readonly first: number;
  readonly own: number;
  readonly rows: Ints;
  readonly stride: number;
  readonly kids: readonly number[];
  readonly up: Ints;
  readonly sum: number;
  readonly spot: Ints;
}

/**
 * The fronts of a normal matrix AᵀWA, the root last. `position` of each unknown in the order of
 * elimination. Every product of two entries of one row of A adds to one of the `sums`: `pair` tells
 * to which, row by row, for each entry with each one up to itself. `shape` is the A it was made for.
 */
export interface Plan {
  readonly shape: Sparse;
  readonly position: Ints;
  readonly fronts: readonly Front[];
  readonly pair: Ints;
  readonly sums: number;
}

/**
 * Plan the factor of AᵀWA.
 *
 * `point` is the point at which each unknown stands, −1 where it stands nowhere, such as a mean: those
 * are taken out last. `parts` dissects the points, whose meeting is that of the rows of A.
 */
export function planned(a: Sparse, point: Ints, parts: readonly Part[]): Plan {
  const columns = rowsOfColumns(a);
  const { position, unknown, firsts } = eliminated(parts, point);
  const pairs = new Int32Array(a.rows + 1);
  for (let r = 0; r < a.rows; r++) pairs[r + 1] = pairs[r] + upTo(a.start[r + 1] - a.start[r]);
  const pair = new Int32Array(pairs[a.rows]);
  const local = new Int32Array(a.columns).fill(-1);
  const touched = new Int32Array(a.rows).fill(-1);
  const fronts: Front[] = [];
  let sums = 0;
  parts.forEach(({ kids }, f) => {
    const [first, last] = [firsts[f], firsts[f + 1]];
    const mine = rowsTouching(columns, unknown, first, last, touched, f);
    const rows = rowsOf(a, mine, position, first, last, local, kids.map((kid) => fronts[kid]));
    const stride = rows.length + 1;
    for (let i = 0; i < rows.length; i++) local[rows[i]] = i;
    for (const kid of kids) {
      const { up, own, rows: of } = fronts[kid];
      for (let i = 0; i < up.length; i++) up[i] = local[of[own + i]];
    }
    const spot = spots(a, mine, position, first, last, local, stride, pair, pairs, sums);
    for (let i = 0; i < rows.length; i++) local[rows[i]] = -1;
    const own = last - first;
    const up = new Int32Array(rows.length - own);
    fronts.push({ first, own, rows, stride, kids, up, sum: sums, spot });
    sums += spot.length;
  });
  return { shape: a, position, fronts, pair, sums };
}

/** Which points meet: those with unknowns in one row of A. */
export function meeting(a: Sparse, point: Ints, count: number): Meets {
  const columns = rowsOfColumns(a);
  const byPoint = unknownsOf(point, count);
  const start = new Int32Array(count + 1);
  const other: number[] = [];
  const seen = new Int32Array(count).fill(-1);
  const touched = new Int32Array(a.rows).fill(-1);
  for (let p = 0; p < count; p++) {
    seen[p] = p;
    const { start: from, unknown } = byPoint;
    for (const r of rowsTouching(columns, unknown, from[p], from[p + 1], touched, p)) {
      for (let e = a.start[r]; e < a.start[r + 1]; e++) {
        const q = point[a.column[e]];
        if (q < 0 || seen[q] === p) continue;
        seen[q] = p;
        other.push(q);
      }
    }
    start[p + 1] = other.length;
  }
  return { start, other: Int32Array.from(other) };
}

/** The unknowns of each point; those that stand nowhere last, as of one more point. */
function unknownsOf(point: Ints, count: number): { start: Ints; unknown: Ints } {
  const start = new Int32Array(count + 2);
  const of = (u: number): number => (point[u] < 0 ? count : point[u]);
  for (let u = 0; u < point.length; u++) start[of(u) + 1] += 1;
  for (let p = 0; p <= count; p++) start[p + 1] += start[p];
  const next = start.slice();
  const unknown = new Int32Array(point.length);
  for (let u = 0; u < point.length; u++) unknown[next[of(u)]++] = u;
  return { start, unknown };
}

/** The order of elimination both ways, and the position at which each part begins. */
function eliminated(
  parts: readonly Part[],
  point: Ints,
): { position: Ints; unknown: Ints; firsts: Ints } {
  const count = parts.reduce((sum, part) => sum + part.own.length, 0);
  const byPoint = unknownsOf(point, count);
  const unknown = new Int32Array(point.length);
  const firsts = new Int32Array(parts.length + 1);
  let at = 0;
  const take = (p: number): void => {
    for (let u = byPoint.start[p]; u < byPoint.start[p + 1]; u++) unknown[at++] = byPoint.unknown[u];
  };
  parts.forEach((part, f) => {
    part.own.forEach(take);
    if (f === parts.length - 1) take(count);
    firsts[f + 1] = at;
  });
  const position = new Int32Array(point.length);
  for (let p = 0; p < unknown.length; p++) position[unknown[p]] = p;
  return { position, unknown, firsts };
}

/** The rows of A with an entry in `unknown` `from` to `to`, each once; `touched` remembers by `name`. */
function rowsTouching(
  columns: Columns,
  unknown: Ints,
  from: number,
  to: number,
  touched: Ints,
  name: number,
): number[] {
  const out: number[] = [];
  for (let u = from; u < to; u++) {
    const c = unknown[u];
    for (let k = columns.start[c]; k < columns.start[c + 1]; k++) {
      const r = columns.row[k];
      if (touched[r] === name) continue;
      touched[r] = name;
      out.push(r);
    }
  }
  return out;
}

/** All positions in the front with its own from `first` to `last`; `mark` stays −1 everywhere. */
function rowsOf(
  a: Sparse,
  mine: readonly number[],
  position: Ints,
  first: number,
  last: number,
  mark: Ints,
  kids: readonly Front[],
): Ints {
  const later: number[] = [];
  const meet = (q: number): void => {
    if (q < last || mark[q] >= 0) return;
    mark[q] = 0;
    later.push(q);
  };
  for (const r of mine) {
    for (let e = a.start[r]; e < a.start[r + 1]; e++) meet(position[a.column[e]]);
  }
  for (const { rows, own } of kids) for (let i = own; i < rows.length; i++) meet(rows[i]);
  const rows = new Int32Array(last - first + later.length);
  for (let p = first; p < last; p++) rows[p - first] = p;
  rows.set(Int32Array.from(later).sort(), last - first);
  for (const q of later) mark[q] = -1;
  return rows;
}

/**
 * Where the sums of a front stand in its block, numbered from `base`; fills in `pair` for the products
 * whose earlier unknown is the front's own. `local` is where each position stands in the front.
 */
function spots(
  a: Sparse,
  mine: readonly number[],
  position: Ints,
  first: number,
  last: number,
  local: Ints,
  stride: number,
  pair: Ints,
  pairs: Ints,
  base: number,
): Ints {
  const out: number[] = [];
  const known = new Int32Array(stride * (last - first)).fill(-1);
  for (const r of mine) {
    let at = pairs[r];
    for (let e = a.start[r]; e < a.start[r + 1]; e++) {
      const p = position[a.column[e]];
      for (let d = a.start[r]; d <= e; d++, at++) {
        const q = position[a.column[d]];
        const column = (p < q ? p : q) - first;
        if (column < 0 || column >= last - first) continue;
        const row = local[p < q ? q : p];
        const key = column * stride + row;
        if (known[key] < 0) known[key] = out.push(row * stride + column) - 1;
        pair[at] = base + known[key];
      }
    }
  }
  return Int32Array.from(out);
}

/** How many pairs of n entries, each with each one up to itself. */
function upTo(n: number): number {
  return (n * (n + 1)) / 2;
}
