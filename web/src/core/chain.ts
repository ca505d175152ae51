// Forward and backward sums of a small hidden chain, and its most probable path.
//
// L. R. Rabiner, A tutorial on hidden Markov models, Proceedings of the IEEE 77 (1989), 257-286, gives
// the sums; A. J. Viterbi, IEEE Transactions on Information Theory 13 (1967), 260-269, the path.
//
// Four states: up and down, twice. From one pair into the other it goes only in a second that was tapped, and in all
// other seconds both pairs take the same four steps.
import { noughts } from "./columns";
import type { Flags, Floats, Ints } from "./words";

/** How many states the chain has. */
export const STATES = 4;
const LEAST = 1e-300;

/**
 * Logarithms of a day's steps, the evidence of their seconds added: `plain` holds up to up, up to down, down to up and
 * down to down of each second. Where `is` is set, `tapped` has all sixteen, row by row: from state a to b at
 * a · STATES + b. `start` are the chances before the first second.
 */
export interface Chain {
  readonly plain: Floats;
  readonly is: Flags;
  readonly tapped: ReadonlyMap<number, Floats>;
  readonly start: readonly number[];
}

/**
 * Chances of the steps; forward and backward sums before every second and after the last, those of a second summing to
 * 1; and the chance of down.
 */
export interface Sums {
  readonly step: Floats;
  readonly ahead: Floats;
  readonly behind: Floats;
  readonly down: Floats;
}

/** Room for the sums of n seconds. */
export function room(n: number): Sums {
  const [step, ahead, behind] = noughts(3, STATES * (n + 1));
  return { step, ahead, behind, down: new Float64Array(n) };
}

/** Sums up a day's steps. */
export function sumUp({ plain, is, tapped, start }: Chain, { step, ahead, behind, down }: Sums): void {
  const chances = new Map<number, Floats>();
  tapped.forEach((logs, i) => chances.set(i, logs.map((v) => Math.exp(Math.max(v, -700)))));
  ahead.set(start);
  forward(plain, is, chances, step, ahead);
  behind.fill(1, STATES * is.length);
  backward(is, chances, step, ahead, behind, down);
}

function forward(plain: Floats, is: Flags, chances: ReadonlyMap<number, Floats>, step: Floats, ahead: Floats): void {
  for (let i = 0, k = 0; i < is.length; i++, k += STATES) {
    const tap = is[i] ? chances.get(i) : undefined;
    for (let j = k; j < k + STATES; j++) step[j] = Math.exp(plain[j]);
    for (let j = 0; j < STATES; j++) {
      const from = k + (j & 2);
      const by = k + (j & 1);
      ahead[k + STATES + j] = tap ? product(ahead, k, tap, j, STATES) : ahead[from] * step[by] + ahead[from + 1] * step[by + 2];
    }
    scale(ahead, k + STATES);
  }
}

function backward(is: Flags, chances: ReadonlyMap<number, Floats>, step: Floats, ahead: Floats, behind: Floats, down: Floats): void {
  for (let i = is.length - 1, k = STATES * i; i >= 0; i--, k -= STATES) {
    const tap = is[i] ? chances.get(i) : undefined;
    const after = k + STATES;
    const lowered = ahead[after + 1] * behind[after + 1] + ahead[after + 3] * behind[after + 3];
    down[i] = lowered / Math.max(lowered + ahead[after] * behind[after] + ahead[after + 2] * behind[after + 2], LEAST);
    for (let j = 0; j < STATES; j++) {
      const to = after + (j & 2);
      const by = k + 2 * (j & 1);
      behind[k + j] = tap ? product(behind, after, tap, STATES * j, 1) : step[by] * behind[to] + step[by + 1] * behind[to + 1];
    }
    scale(behind, k);
  }
}

/** Sum of the products of four numbers in a row and four of a matrix, `by` places apart. */
function product(a: Floats, at: number, matrix: Floats, from: number, by: number): number {
  let all = 0;
  for (let j = 0; j < STATES; j++) all += a[at + j] * matrix[from + by * j];
  return all;
}

function scale(values: Floats, at: number): void {
  const by = 1 / Math.max(values[at] + values[at + 1] + values[at + 2] + values[at + 3], LEAST);
  for (let a = at; a < at + STATES; a++) values[a] *= by;
}

/** Chance of a change into down, or into up, in a second without a tap. */
export function change({ step, ahead, behind }: Sums, i: number, into: boolean): number {
  const k = STATES * i;
  let [all, moved] = [0, 0];
  for (let pair = k; pair < k + STATES; pair += 2) {
    for (let j = 0; j < STATES; j++) {
      const chance = ahead[pair + (j >> 1)] * step[k + j] * behind[pair + STATES + (j & 1)];
      all += chance;
      if (j === (into ? 1 : 2)) moved += chance;
    }
  }
  return moved / Math.max(all, LEAST);
}

/** The most probable path, one state a second. */
export function best({ plain, is, tapped, start }: Chain): Ints {
  const n = is.length;
  const path = new Int32Array(n);
  if (n === 0) return path;
  const came = new Uint8Array(n * STATES);
  let now = start.map(Math.log);
  let next = [0, 0, 0, 0];
  for (let i = 0; i < n; i++) {
    const tap = is[i] ? tapped.get(i) : undefined;
    for (let b = 0; b < STATES; b++) {
      let most = -Infinity;
      for (let a = 0; a < STATES; a++) {
        // without a tap a pair is not left
        const by = tap ? tap[STATES * a + b] : (a ^ b) > 1 ? -Infinity : plain[STATES * i + 2 * (a & 1) + (b & 1)];
        if (now[a] + by <= most) continue;
        most = now[a] + by;
        came[i * STATES + b] = a;
      }
      next[b] = most;
    }
    [now, next] = [next, now];
  }
  let state = now.indexOf(Math.max(...now));
  path[n - 1] = state;
  for (let i = n - 1; i > 0; i--) {
    state = came[i * STATES + state];
    path[i - 1] = state;
  }
  return path;
}
