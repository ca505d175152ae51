// A fill-reducing order: nested dissection by place.
//
// Unknowns that stand at places on the ground meet only their neighbours there. A set is cut across
// at its middle, and the points on one side of the cut that meet the other side are its separator:
// taken out last, it leaves two halves that know nothing of each other, and each is cut again. On
// grids this is within a constant of the least possible fill (A. George, SIAM J. Numer. Anal. 10
// (1973), from memory), and here it needs no search, because places are known.
import { order } from "./columns";
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
const SMALL = 16;

/**
 * Parts in the order of elimination: every part after those it separates, the last one the root.
 * Any places give a right order; only a good one where points that meet lie near each other.
 */
export function dissect(meets: Meets, x: Floats, y: Floats): Part[] {
  const parts: Part[] = [];
  const side = new Int8Array(x.length);

  /** The part that holds all points, given in order of x and in order of y. */
  const part = (byX: Ints, byY: Ints): number => {
    if (byX.length <= SMALL) return parts.push({ own: byX, kids: [] }) - 1;
    const [one, two] = [cut(byX, x, side, meets), cut(byY, y, side, meets)];
    const best = one.length <= two.length ? one : two;
    if (best === one) mark(byX, x, side);
    else mark(byY, y, side);
    for (let i = 0; i < best.length; i++) side[best[i]] = 0;
    const halves = [-1, 1].map((which) => [kept(byX, side, which), kept(byY, side, which)]);
    for (let i = 0; i < byX.length; i++) side[byX[i]] = 0;
    const kids = halves.filter((half) => half[0].length > 0).map((half) => part(half[0], half[1]));
    return parts.push({ own: best, kids }) - 1;
  };

  part(order(x), order(y));
  return parts;
}

/**
 * Which of `count` points meet: those with unknowns in one row of A. `point` is the one at which
 * each unknown stands, −1 where it stands nowhere.
 */
export function meeting(a: Sparse, point: Ints, count: number): Meets {
  const at = Int32Array.from(a.column, (u) => point[u]);
  const first = new Int32Array(count + 1);
  for (let k = 0; k < at.length; k++) if (at[k] >= 0) first[at[k] + 1] += 1;
  for (let p = 0; p < count; p++) first[p + 1] += first[p];
  const next = first.slice();
  const rows = new Int32Array(first[count]);
  for (let r = 0; r < a.rows; r++) {
    for (let k = a.start[r]; k < a.start[r + 1]; k++) if (at[k] >= 0) rows[next[at[k]]++] = r;
  }
  const start = new Int32Array(count + 1);
  const other: number[] = [];
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
        other.push(q);
      }
    }
    start[p + 1] = other.length;
  }
  return { start, other: Int32Array.from(other) };
}

/** The smaller of the two separators at the middle of a sorted set; leaves no marks. */
function cut(sorted: Ints, at: Floats, side: Int8Array, meets: Meets): Ints {
  mark(sorted, at, side);
  const ends: [number[], number[]] = [[], []];
  for (let i = 0; i < sorted.length; i++) {
    const p = sorted[i];
    for (let k = meets.start[p]; k < meets.start[p + 1]; k++) {
      if (side[meets.other[k]] === -side[p]) {
        ends[side[p] < 0 ? 0 : 1].push(p);
        break;
      }
    }
  }
  for (let i = 0; i < sorted.length; i++) side[sorted[i]] = 0;
  return Int32Array.from(ends[0].length <= ends[1].length ? ends[0] : ends[1]);
}

/**
 * The first half of a sorted set on side −1, the second on side 1; all others are on side 0. Points
 * of one coordinate stay on one side where that leaves a part on the other.
 */
function mark(sorted: Ints, at: Floats, side: Int8Array): void {
  const n = sorted.length;
  let half = n >> 1;
  for (let off = 0; off <= n >> 2; off++) {
    const [low, high] = [(n >> 1) - off, (n >> 1) + off];
    if (at[sorted[low]] !== at[sorted[low - 1]]) half = low;
    else if (at[sorted[high]] !== at[sorted[high - 1]]) half = high;
    else continue;
    break;
  }
  for (let i = 0; i < n; i++) side[sorted[i]] = i < half ? -1 : 1;
}

function kept(sorted: Ints, side: Int8Array, which: number): Ints {
  let count = 0;
  for (let i = 0; i < sorted.length; i++) if (side[sorted[i]] === which) count += 1;
  const out = new Int32Array(count);
  count = 0;
  for (let i = 0; i < sorted.length; i++) if (side[sorted[i]] === which) out[count++] = sorted[i];
  return out;
}
