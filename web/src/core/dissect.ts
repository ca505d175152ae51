// A fill-reducing order: nested dissection by place.
//
// Unknowns that stand at places on the ground meet only their neighbours there. A set is cut across
// near its middle, and the points on one side of the cut that meet the other side are its separator:
// taken out last, it leaves two halves that know nothing of each other, and each is cut again. On
// grids this is within a constant of the least possible fill (A. George, SIAM J. Numer. Anal. 10
// (1973), from memory), and here it needs no search, because places are known.
import { byKey, order } from "./columns";
import type { Sparse } from "./sparse";
import type { Floats, Ints } from "./words";

/** Who meets whom: point p meets `other[k]` for k from `start[p]` to `start[p + 1]`. */
export interface Meets {
  readonly start: Ints;
  readonly other: Ints;
}

/** A separator, or a set too small to cut: its points, and the parts that it separates. */
export interface Part {
  readonly own: Ints;
  readonly kids: readonly number[];
}

/** Sets of so few points are not cut. */
const SMALL = 32;
/** A cut leaves at least this part of a set on either side; the dearer the farther from its middle. */
const [LEAST, ASIDE] = [0.3, 0.5];
/** Of the points no more than this part may join separators of a dissection that was made for others. */
const MOVED = 0.01;

/**
 * Parts in the order of elimination: every part after those it separates, the last one the root.
 * Any places give a right order; only a good one where points that meet lie near each other.
 */
export function dissect(meets: Meets, x: Floats, y: Floats): Part[] {
  const parts: Part[] = [];
  divide(parts, order(x), order(y), new Int32Array(x.length).fill(-1), new Int8Array(x.length), meets);
  return parts;
}

/**
 * The part that holds all points, given in order of x and in order of y. `rank` is −1 and `side` 0
 * everywhere, before and after.
 */
function divide(parts: Part[], byX: Ints, byY: Ints, rank: Ints, side: Int8Array, meets: Meets): number {
  if (byX.length <= SMALL) return parts.push({ own: byX, kids: [] }) - 1;
  const [one, two] = [cut(byX, rank, meets), cut(byY, rank, meets)];
  const [best, sorted] = one.cost <= two.cost ? [one, byX] : [two, byY];
  const { own, half } = best;
  for (let i = 0; i < sorted.length; i++) side[sorted[i]] = i < half ? -1 : 1;
  for (let i = 0; i < own.length; i++) side[own[i]] = 0;
  const [xs, ys] = [halves(byX, side), halves(byY, side)];
  for (let i = 0; i < sorted.length; i++) side[sorted[i]] = 0;
  const kids: number[] = [];
  for (let k = 0; k < 2; k++) {
    if (xs[k].length > 0) kids.push(divide(parts, xs[k], ys[k], rank, side, meets));
  }
  return parts.push({ own, kids }) - 1;
}

/**
 * The dissection of points for others whom they meet: where two meet that a separator parts, one of them joins
 * it. What a point meets above or below it, it meets there still when it has moved up. Null where so many have to
 * move that cutting anew is worth it.
 */
export function mended(parts: readonly Part[], { start, other }: Meets): Part[] | null {
  let moved = 0;
  const over = new Int32Array(parts.length).fill(-1);
  const first = over.map((_, f) => f);
  const stands = new Int32Array(start.length - 1);
  parts.forEach(({ own, kids }, f) => {
    for (const kid of kids) [over[kid], first[f]] = [f, Math.min(first[f], first[kid])];
    for (let k = 0; k < own.length; k++) stands[own[k]] = f;
  });
  for (let p = 0; p < stands.length; p++) {
    for (let k = start[p]; k < start[p + 1]; k++) {
      const low = Math.min(stands[p], stands[other[k]]);
      let high = Math.max(stands[p], stands[other[k]]);
      if (first[high] <= low) continue;
      while (first[high] > low) high = over[high];
      stands[p] = high;
      if (++moved > MOVED * stands.length) return null;
    }
  }
  const { start: from, index } = byKey(stands, parts.length);
  return parts.map(({ kids }, f) => ({ own: index.slice(from[f], from[f + 1]), kids }));
}

/**
 * Which of `count` points meet: those with unknowns in one row of A. `point` is the one at which
 * each unknown stands, −1 where it stands nowhere.
 */
export function meeting(a: Sparse, point: Ints, count: number): Meets {
  const at = a.column.map((u) => point[u]);
  const { start: first, index } = byKey(at, count);
  const row = new Int32Array(at.length);
  let most = 0;
  for (let r = 0; r < a.rows; r++) {
    row.fill(r, a.start[r], a.start[r + 1]);
    most += (a.start[r + 1] - a.start[r]) ** 2;
  }
  const rows = index.map((k) => row[k]);
  const start = new Int32Array(count + 1);
  const other = new Int32Array(most);
  let met = 0;
  const seen = new Int32Array(count).fill(-1);
  for (let p = 0; p < count; p++) {
    seen[p] = p;
    for (let n = first[p]; n < first[p + 1]; n++) {
      // a row with two unknowns of the point stands here twice
      if (n > first[p] && rows[n] === rows[n - 1]) continue;
      for (let k = a.start[rows[n]]; k < a.start[rows[n] + 1]; k++) {
        const q = at[k];
        if (q < 0 || seen[q] === p) continue;
        seen[q] = p;
        other[met++] = q;
      }
    }
    start[p + 1] = met;
  }
  return { start, other: other.subarray(0, met) };
}

/** A separator, the place in a sorted set behind which it cuts, and how dear it is. */
interface Cut {
  readonly own: Ints;
  readonly half: number;
  readonly cost: number;
}

/** The first and the last of a sorted set that each of its points meets, itself among them. */
function reach(sorted: Ints, rank: Ints, { start, other }: Meets): [Ints, Ints] {
  const n = sorted.length;
  const [first, last] = [new Int32Array(n), new Int32Array(n)];
  for (let i = 0; i < n; i++) rank[sorted[i]] = i;
  for (let i = 0; i < n; i++) {
    const p = sorted[i];
    let low = i;
    let high = i;
    for (let k = start[p]; k < start[p + 1]; k++) {
      const r = rank[other[k]];
      if (r > high) high = r;
      else if (r >= 0 && r < low) low = r;
    }
    first[i] = low;
    last[i] = high;
  }
  for (let i = 0; i < n; i++) rank[sorted[i]] = -1;
  return [first, last];
}

/**
 * The cheapest cut of a sorted set: at every place the points before it that meet any behind it, or
 * those behind it that meet any before it, can be its separator. `rank` is −1 everywhere, before
 * and after.
 */
function cut(sorted: Ints, rank: Ints, meets: Meets): Cut {
  const n = sorted.length;
  const [first, last] = reach(sorted, rank, meets);
  // how many more, or fewer, separate before and behind a cut at each place than at the one before
  const [before, behind] = [new Int32Array(n + 2), new Int32Array(n + 2)];
  for (let i = 0; i < n; i++) {
    before[i + 1] += 1;
    before[last[i] + 1] -= 1;
    behind[first[i] + 1] += 1;
    behind[i + 1] -= 1;
  }
  let [half, cost, early, ahead, after] = [0, Infinity, true, 0, 0];
  for (let h = 1; h <= n - LEAST * n; h++) {
    ahead += before[h];
    after += behind[h];
    const off = (2 * h) / n - 1;
    const now = Math.min(ahead, after) * (1 + ASIDE * off * off);
    if (h >= LEAST * n && now < cost) [half, cost, early] = [h, now, ahead <= after];
  }
  const own: number[] = [];
  for (let i = 0; i < n; i++) {
    if (i < half === early && first[i] < half && last[i] >= half) own.push(sorted[i]);
  }
  return { own: new Int32Array(own), half, cost };
}

/** The points on side −1 and those on side 1, as sorted as they were. */
function halves(sorted: Ints, side: Int8Array): [Ints, Ints] {
  const [one, two] = [new Int32Array(sorted.length), new Int32Array(sorted.length)];
  let [m, n] = [0, 0];
  for (let i = 0; i < sorted.length; i++) {
    if (side[sorted[i]] < 0) one[m++] = sorted[i];
    else if (side[sorted[i]] > 0) two[n++] = sorted[i];
  }
  return [one.subarray(0, m), two.subarray(0, n)];
}
