// Where the rig was driven backwards: a short stretch between two reversals of course.
import { firstAbove, firstNotBelow, hypot, turned } from "./columns";
import { OFTEN_S } from "./noise";
import { marked } from "./spans";
import { BLIND, STAND } from "./steps";
import type { Flags, Floats, Ints } from "./words";

/** Backing is a short stretch between two reversals of course, m. */
const BACKING_M = 60;
/** Slower than this the course may reverse, m/s; by more than this it has, rad. */
const SLOW_M_S = 0.6;
/** In much noise: reported faster than this at both its ends, no step turns back, m/s. */
const FAST_M_S = 0.5;
const REVERSED_RAD = (120 * Math.PI) / 180;
/** Courses before and after a stop are taken over this way, m, within this time, s. */
const OVER_M = 3;
const WITHIN_S = 20;

/**
 * Fixes driven backwards; `step` as in a track, one shorter than the rest. Where noise can undo a step too,
 * `told` is the reported speed: nobody turns back without slowing down.
 */
export function backed(t: Floats, x: Floats, y: Floats, step: Ints, told: Floats | null): Flags {
  const n = t.length;
  const backing = new Uint8Array(n);
  const moves = new Float64Array(n - 1);
  const way = new Float64Array(n);
  const slow = new Uint8Array(n - 1);
  for (let k = 0; k + 1 < n; k++) {
    const lost = step[k] === STAND || step[k] === BLIND;
    moves[k] = lost ? 0 : hypot(x[k + 1] - x[k], y[k + 1] - y[k]);
    way[k + 1] = way[k] + moves[k];
    const dt = t[k + 1] - t[k];
    const fast = told !== null && Math.min(told[k], told[k + 1]) > FAST_M_S && dt <= OFTEN_S;
    slow[k] = (moves[k] / dt < SLOW_M_S && !fast) || step[k] === STAND ? 1 : 0;
  }
  const flips: number[] = [];
  for (const [first, last] of marked(slow)) {
    const before = firstAbove(way, way[first] - OVER_M) - 1;
    const after = firstNotBelow(way, way[last] + OVER_M);
    if (before < 0 || after >= n) continue;
    if (t[first] - t[before] > WITHIN_S || t[after] - t[last] > WITHIN_S) continue;
    const came = Math.atan2(y[first] - y[before], x[first] - x[before]);
    const goes = Math.atan2(y[after] - y[last], x[after] - x[last]);
    if (turned(came, goes) <= REVERSED_RAD) continue;
    let slowest = first;
    for (let k = first + 1; k < last; k++) if (moves[k] < moves[slowest]) slowest = k;
    flips.push(slowest + 1);
  }
  for (let at = 0; at + 1 < flips.length; at++) {
    const [i, j] = [flips[at], flips[at + 1]];
    if (way[j] - way[i] > BACKING_M) continue;
    backing.fill(1, i, j);
    at += 1;
  }
  return backing;
}
