// Forward and backward sums of a small hidden chain, and its most probable path.
//
// L. R. Rabiner, A tutorial on hidden Markov models, Proceedings of the IEEE 77 (1989), 257-286, gives
// the sums; A. J. Viterbi, IEEE Transactions on Information Theory 13 (1967), 260-269, the path.
//
// `step` holds a matrix a second, row by row: `step[(i · STATES + a) · STATES + b]` leads from state a at
// second i − 1 (the start for i = 0) to b at second i, the evidence of second i multiplied in.
import type { Floats, Ints } from "./words";

/** How many states the chain has. */
export const STATES = 4;
const SQUARE = STATES * STATES;
const LEAST = 1e-300;

/** Forward and backward sums of every second, each second's forward ones summing to 1. */
export interface Sums {
  readonly ahead: Floats;
  readonly behind: Floats;
}

/** The sums of a day's steps. */
export function sums(step: Floats, start: ArrayLike<number>): Sums {
  const ahead = new Float64Array(step.length / STATES);
  const behind = new Float64Array(ahead.length).fill(1);
  const now = Float64Array.from(start);
  for (let at = 0; at < ahead.length; at += STATES) {
    for (let b = 0; b < STATES; b++) {
      const k = STATES * at + b;
      ahead[at + b] = now[0] * step[k] + now[1] * step[k + 4] + now[2] * step[k + 8] + now[3] * step[k + 12];
    }
    scale(ahead, at);
    for (let b = 0; b < STATES; b++) now[b] = ahead[at + b];
  }
  for (let at = ahead.length - STATES; at > 0; at -= STATES) {
    for (let a = 0; a < STATES; a++) {
      const k = STATES * (at + a);
      behind[at - STATES + a] = step[k] * behind[at] + step[k + 1] * behind[at + 1] + step[k + 2] * behind[at + 2] + step[k + 3] * behind[at + 3];
    }
    scale(behind, at - STATES);
  }
  return { ahead, behind };
}

function scale(values: Floats, at: number): void {
  const by = 1 / Math.max(values[at] + values[at + 1] + values[at + 2] + values[at + 3], LEAST);
  for (let a = at; a < at + STATES; a++) values[a] *= by;
}

/** Chance at every second of the states that are odd. */
export function odd({ ahead, behind }: Sums): Floats {
  const out = new Float64Array(ahead.length / STATES);
  for (let i = 0, k = 0; i < out.length; i++, k += STATES) {
    const is = ahead[k + 1] * behind[k + 1] + ahead[k + 3] * behind[k + 3];
    out[i] = is / Math.max(is + ahead[k] * behind[k] + ahead[k + 2] * behind[k + 2], LEAST);
  }
  return out;
}

/** Chance of every change between states into one second, row by row. */
export function changes(step: Floats, start: ArrayLike<number>, { ahead, behind }: Sums, i: number): Floats {
  const out = new Float64Array(SQUARE);
  let sum = 0;
  for (let k = 0; k < SQUARE; k++) {
    const before = i === 0 ? start[k >> 2] : ahead[(i - 1) * STATES + (k >> 2)];
    out[k] = before * step[i * SQUARE + k] * behind[i * STATES + (k & 3)];
    sum += out[k];
  }
  return out.map((v) => v / Math.max(sum, LEAST));
}

/** The most probable path, one state a second, from logarithms of the steps. */
export function best(logStep: Floats, logStart: ArrayLike<number>): Ints {
  const n = logStep.length / SQUARE;
  const path = new Int32Array(n);
  if (n === 0) return path;
  const came = new Uint8Array(n * STATES);
  let now = Float64Array.from(logStart);
  let next = new Float64Array(STATES);
  for (let i = 0; i < n; i++) {
    for (let b = 0; b < STATES; b++) {
      let most = -Infinity;
      for (let a = 0; a < STATES; a++) {
        const value = now[a] + logStep[i * SQUARE + a * STATES + b];
        if (value <= most) continue;
        most = value;
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
