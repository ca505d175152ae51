// Taps as evidence for the chain: what a change of state costs where there is a tap, and where none.
import { STATES } from "./chain";
import { firstNotBelow } from "./columns";
import type { Ticks } from "./ticks";
import type { Flags, Floats, Ints } from "./words";

/**
 * Log chance a second of a change; where taps are kept, times the share of taps forgotten, which is
 * learned from how often two taps say the same.
 */
const FREE = -5;
const LEAST_FORGOTTEN = 0.001;
/** Log chances at a tap: it repeats the state, it is contradicted, taps turn swapped, or right. */
const REPEAT = -20;
const AGAINST = -14;
const TO_SWAPPED = -9;
const TO_RIGHT = -6;
export const NEVER = -1e6;
/** Score a second of a state that was answered. */
export const ANSWERED = 40;

/** States: up, down with taps right; up, down with taps swapped. */
export const isDown = (state: number): boolean => (state & 1) === 1;
export const isSwapped = (state: number): boolean => state > 1;

/**
 * What was tapped and answered, on the clock of the seed. `tap_s` and `tap_down` are the taps; `told` is 1
 * where an answer says down, −1 where it says up, 0 elsewhere, one a tick. `record` is the state by the
 * taps alone, `open` where they cannot be right: between two taps that say the same.
 */
export interface Evidence {
  readonly tap_s: readonly number[];
  readonly tap_down: readonly boolean[];
  readonly told: Ints;
  readonly record: Flags;
  readonly open: Flags;
}

/** Log chances of every change of state into the ticks with a tap, row by row, by tick. */
export function tapsAt(ticks: Ticks, evidence: Evidence): Map<number, Floats> {
  const at = new Map<number, Floats>();
  evidence.tap_s.forEach((t, k) => {
    const tick = firstNotBelow(ticks.t_s, t);
    if (tick >= ticks.t_s.length) return;
    const before = at.get(tick) ?? square((a, b) => (a === b ? 0 : NEVER));
    at.set(tick, followed(before, tap(evidence.tap_down[k])));
  });
  return at;
}

/** Log chance of a change between up and down in a second without a tap; of turning about, NEVER. */
export function changeOf(evidence: Evidence, free: boolean): number {
  return free ? FREE : FREE + Math.log(forgotten(evidence.tap_down));
}

function square(value: (a: number, b: number) => number): Floats {
  return Float64Array.from({ length: STATES * STATES }, (_, k) =>
    value(Math.floor(k / STATES), k % STATES),
  );
}

/** The best way through two steps, one after the other. */
function followed(one: Floats, other: Floats): Floats {
  return square((a, b) => {
    let most = -Infinity;
    for (let m = 0; m < STATES; m++) {
      most = Math.max(most, one[a * STATES + m] + other[m * STATES + b]);
    }
    return most;
  });
}

/**
 * Share of taps that were forgotten, from taps that repeat the one before. Two repeats may be the ends of
 * a swapped stretch and are not counted.
 */
function forgotten(down: readonly boolean[]): number {
  const again = down.filter((d, i) => i > 0 && d === down[i - 1]).length;
  return Math.max((Math.max(again - 2, 0) + 0.2) / (down.length + 5), LEAST_FORGOTTEN);
}

/** Log chances of a change of state across a tap that says down, or up. */
function tap(down: boolean): Floats {
  return square((a, b) => {
    const meant = isSwapped(b) ? !down : down;
    let cost = isDown(a) === isDown(b) ? REPEAT : 0;
    if (isDown(b) !== meant) cost = isDown(a) === isDown(b) ? AGAINST : 3 * AGAINST;
    if (isSwapped(a) !== isSwapped(b)) cost += isSwapped(b) ? TO_SWAPPED : TO_RIGHT;
    return cost;
  });
}
