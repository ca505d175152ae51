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

/** Chance of every state at every second, and the forward and backward sums it comes from. */
export interface States {
  readonly state: Floats;
  readonly ahead: Floats;
  readonly behind: Floats;
}

/** The chances of the states, each second's summing to 1. */
export function states(step: Floats, start: ArrayLike<number>): States {
  const n = step.length / SQUARE;
  const ahead = new Float64Array(n * STATES);
  const behind = new Float64Array(n * STATES).fill(1);
  const now = Float64Array.from(start);
  for (let i = 0; i < n; i++) {
    for (let b = 0; b < STATES; b++) {
      let sum = 0;
      for (let a = 0; a < STATES; a++) sum += now[a] * step[i * SQUARE + a * STATES + b];
      ahead[i * STATES + b] = sum;
    }
    scale(ahead, i);
    for (let b = 0; b < STATES; b++) now[b] = ahead[i * STATES + b];
  }
  for (let i = n - 2; i >= 0; i--) {
    for (let a = 0; a < STATES; a++) {
      let sum = 0;
      for (let b = 0; b < STATES; b++) {
        sum += step[(i + 1) * SQUARE + a * STATES + b] * behind[(i + 1) * STATES + b];
      }
      behind[i * STATES + a] = sum;
    }
    scale(behind, i);
  }
  const state = ahead.map((v, i) => v * behind[i]);
  for (let i = 0; i < n; i++) scale(state, i);
  return { state, ahead, behind };
}

function scale(values: Floats, i: number): void {
  let sum = 0;
  for (let a = 0; a < STATES; a++) sum += values[i * STATES + a];
  for (let a = 0; a < STATES; a++) values[i * STATES + a] /= Math.max(sum, LEAST);
}

/** Chance of every change between states at every second, laid out as `step` is. */
export function changes(step: Floats, start: ArrayLike<number>, { ahead, behind }: States): Floats {
  const out = new Float64Array(step.length);
  for (let i = 0; i * SQUARE < step.length; i++) {
    let sum = 0;
    for (let a = 0; a < STATES; a++) {
      const before = i === 0 ? start[a] : ahead[(i - 1) * STATES + a];
      for (let b = 0; b < STATES; b++) {
        const at = i * SQUARE + a * STATES + b;
        out[at] = before * step[at] * behind[i * STATES + b];
        sum += out[at];
      }
    }
    for (let k = i * SQUARE; k < (i + 1) * SQUARE; k++) out[k] /= Math.max(sum, LEAST);
  }
  return out;
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
