// What a Cholesky factor will look like, before any number is known: its fronts.
//
// The columns of one part of a dissection are taken out together as a dense block. The front of a
// part holds its own unknowns, and below them every later unknown that they meet, directly or
// through the parts they separate. A row of A adds its products to the front of its earliest
// unknown, which holds all of them (the multifrontal method: I. S. Duff and J. K. Reid, ACM Trans.
// Math. Softw. 9 (1983), from memory).
import { byKey } from "./columns";
import type { Part } from "./dissect";
import type { Sparse } from "./sparse";
import type { Ints } from "./words";

/**
 * One front. Unknowns are named by their position in the order of elimination: its own are `first`
 * to `first + own`, `rows` all of it in order. `kids` hang from it; `up` is where those of its rows
 * that are not its own stand in the front that it hangs from itself. Its dense block is held by
 * rows of `stride`. The rows of A that add to it are `from` to `to` of the plan's.
 */
export interface Front {
  readonly first: number;
  readonly own: number;
  readonly rows: Ints;
  readonly kids: readonly number[];
  readonly up: Ints;
  readonly stride: number;
  readonly from: number;
  readonly to: number;
}

/**
 * The fronts of a normal matrix AᵀWA, the root last, and the `position` of each unknown in the
 * order of elimination. `row` are the rows of A in the order of their fronts; `entry` are the
 * entries of A, row by row as they stand there, in each row by position, and `spot` is where each
 * stands in its front. `shape` is the A it was made for, `parts` the dissection.
 */
export interface Plan {
  readonly shape: Sparse;
  readonly parts: readonly Part[];
  readonly position: Ints;
  readonly fronts: readonly Front[];
  readonly row: Ints;
  readonly entry: Ints;
  readonly spot: Ints;
}

/**
 * Plan the factor of AᵀWA.
 *
 * `point` is the point at which each unknown stands, −1 where it stands nowhere, such as a mean:
 * those are taken out last. `parts` dissects the points, whose meeting is that of the rows of A.
 */
export function planned(a: Sparse, point: Ints, parts: readonly Part[]): Plan {
  const { position, firsts } = eliminated(parts, point);
  const { entry, at } = sortedEntries(a, position);
  const { row, starts } = byFront(a, at, firsts);
  const spot = new Int32Array(entry.length);
  const local = new Int32Array(a.columns).fill(-1);
  const later = new Int32Array(a.columns);
  const fronts: Front[] = [];
  parts.forEach(({ kids }, f) => {
    const [first, last, from, to] = [firsts[f], firsts[f + 1], starts[f], starts[f + 1]];
    let count = 0;
    /** Positions from `last` on, once each. */
    const meet = (of: Ints, begin: number, end: number): void => {
      for (let k = begin; k < end; k++) {
        const p = of[k];
        if (p < last || local[p] >= 0) continue;
        local[p] = 0;
        later[count++] = p;
      }
    };
    for (let n = from; n < to; n++) meet(at, a.start[row[n]], a.start[row[n] + 1]);
    for (const kid of kids) meet(fronts[kid].rows, fronts[kid].own, fronts[kid].rows.length);
    const below = later.slice(0, count).sort();
    const own = last - first;
    const rows = new Int32Array(own + count);
    for (let i = 0; i < own; i++) rows[i] = first + i;
    rows.set(below, own);
    for (let i = 0; i < rows.length; i++) local[rows[i]] = i;
    for (let n = from; n < to; n++) {
      for (let k = a.start[row[n]]; k < a.start[row[n] + 1]; k++) spot[k] = local[at[k]];
    }
    for (const kid of kids) {
      const { up, own: inner, rows: of } = fronts[kid];
      for (let i = 0; i < up.length; i++) up[i] = local[of[inner + i]];
    }
    for (let i = 0; i < rows.length; i++) local[rows[i]] = -1;
    fronts.push({ first, own, rows, kids, up: new Int32Array(count), stride: rows.length + 1, from, to });
  });
  return { shape: a, parts, position, fronts, row, entry, spot };
}

/**
 * The position of each unknown in the order of elimination, and the one at which each part begins.
 */
function eliminated(parts: readonly Part[], point: Ints): { position: Ints; firsts: Ints } {
  const count = parts.reduce((sum, part) => sum + part.own.length, 0);
  const { start, index } = byKey(point.map((p) => (p < 0 ? count : p)), count + 1);
  const position = new Int32Array(point.length);
  const firsts = new Int32Array(parts.length + 1);
  let at = 0;
  const next = (p: number): void => {
    for (let k = start[p]; k < start[p + 1]; k++) position[index[k]] = at++;
  };
  parts.forEach(({ own }, f) => {
    own.forEach(next);
    firsts[f + 1] = at;
  });
  next(count);
  firsts[parts.length] = at;
  return { position, firsts };
}

/** The entries of A, row by row, in each row by their unknown's position, and that. */
function sortedEntries({ rows, start, column }: Sparse, position: Ints): { entry: Ints; at: Ints } {
  const [entry, at] = [new Int32Array(column.length), new Int32Array(column.length)];
  for (let r = 0; r < rows; r++) {
    const first = start[r];
    for (let k = first; k < start[r + 1]; k++) {
      const p = position[column[k]];
      let to = k;
      for (; to > first && at[to - 1] > p; to--) {
        entry[to] = entry[to - 1];
        at[to] = at[to - 1];
      }
      entry[to] = k;
      at[to] = p;
    }
  }
  return { entry, at };
}

/**
 * The rows of A in the order of the fronts of their earliest unknowns, and where each front's
 * begin. `at` are their unknowns' positions.
 */
function byFront(a: Sparse, at: Ints, firsts: Ints): { row: Ints; starts: Ints } {
  const frontAt = new Int32Array(a.columns);
  for (let f = 0; f + 1 < firsts.length; f++) frontAt.fill(f, firsts[f], firsts[f + 1]);
  // a row without entries adds nothing anywhere
  const frontOf = (r: number): number =>
    a.start[r] < a.start[r + 1] ? frontAt[at[a.start[r]]] : 0;
  const { start: starts, index: row } = byKey(new Int32Array(a.rows).map((_, r) => frontOf(r)), firsts.length - 1);
  return { row, starts };
}
