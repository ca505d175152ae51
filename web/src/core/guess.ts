// Where the tool was down, from the movement and whatever was tapped.
//
// A hidden chain at one step a second: the tool is up or down, crossed with "taps mean what they say" or
// "down and up are swapped". Each second adds the summed scores of its signs (`signs`), each tap is
// evidence for a change at its time. The ground sown by other passes enters through the chances
// themselves, so the chain is run several rounds, each with the ground of the last.
//
// The clock of the chain is that of the seed: a lowering counts from when every opener seeds.
import { beside, laid } from "./beside";
import { best, changes, odd, STATES, type Sums, sums } from "./chain";
import { firstNotBelow } from "./columns";
import { GOES_DOWN, GOES_UP, MOVEMENT, WITH_GROUND } from "./scores";
import { ground, movement, place, placeBeside, score } from "./signs";
import { ANSWERED, changeOf, type Evidence, isDown, isSwapped, NEVER, tapsAt } from "./taps";
import type { Ticks } from "./ticks";
import type { Flags, Floats, Ints, Ring } from "./words";

/** A sum of scores counts this much of its face value: neighbouring seconds say the same. */
const WEIGHT = 0.2;
/** A change without a tap is put where its chance lies densest, smoothed by a curve of this way, m. */
const WITHIN_M = 5.0;
const ROUND = 30;
/** A tap may come this long after what it tells of, s. */
const LATE_S = 6;
/** How far the ground may move the score against the taps. */
const GROUND_AGAINST = 0.6;
/** The place of a change counts for at most this much, log odds. */
const PLACED = 5;
/** Rounds with the ground, and how much each new chance moves the last. */
const ROUNDS = 5;
const MOVE = 0.5;
/** No further round where the chances agree with every tap and the last moved none by more. */
const SETTLED = 0.02;
/** Score a second of backing. */
const BACKING = -10;
/** Chances of the states before the first second. */
const START = [0.9, 0.1, 1e-4, 1e-5];
const SQUARE = STATES * STATES;

/** What the chain holds, a row a tick: chance of down; down and swapped on the most probable path. */
export interface Belief {
  readonly chance: Floats;
  readonly down: Flags;
  readonly swapped: Flags;
}

/** Runs the chain; `free`: there are no taps, changes cost no more than they must. */
export function believe(
  ticks: Ticks,
  width_m: number,
  fence: readonly Ring[] | null,
  evidence: Evidence,
  free: boolean,
): Belief {
  const day = new Day(ticks, evidence, free);
  const motion = movement(ticks, width_m, fence);
  const alone = score(motion, MOVEMENT);
  let sum = alone;
  // what does not change with the ground is scored once
  const moves = score(motion, WITH_GROUND);
  const here = place(ticks, motion);
  const places = [GOES_DOWN, GOES_UP].map((tables) => score(here, tables));
  const strips = laid(ticks, width_m);
  const chance = day.chances(alone);
  for (let round = 0; round < ROUNDS; round++) {
    const near = beside(strips, chance);
    const every = ground(ticks, near);
    const there = placeBeside(ticks, near, every);
    day.put = [score(there, GOES_DOWN, places[0]), score(there, GOES_UP, places[1])];
    sum = day.heard(score(every, WITH_GROUND, moves), alone);
    const found = day.chances(sum);
    let most = 0;
    let told = !free;
    for (let i = 0; i < found.length; i++) {
      most = Math.max(most, Math.abs(found[i] - chance[i]));
      told = told && found[i] > 0.5 === (evidence.record[i] === 1);
      chance[i] = (1 - MOVE) * chance[i] + MOVE * found[i];
    }
    if (told && most < SETTLED) break;
  }
  return day.believed(sum);
}

/** The chain of one day: its steps, its evidence, and where changes are likely. */
class Day {
  /** How much likelier a change to down, and to up, is at each tick. */
  put: readonly [Floats, Floats];
  private readonly ticks: Ticks;
  private readonly evidence: Evidence;
  private readonly free: boolean;
  private readonly change: number;
  private readonly taps: ReadonlyMap<number, Floats>;
  private readonly quiet: Flags;
  private readonly untapped: Flags;
  /** Chances of the steps, as the chain wants them, and their sums. */
  private readonly step: Floats;
  private sums: Sums;

  constructor(ticks: Ticks, evidence: Evidence, free: boolean) {
    const n = ticks.t_s.length;
    this.ticks = ticks;
    this.evidence = evidence;
    this.free = free;
    this.change = changeOf(evidence, free);
    this.taps = tapsAt(ticks, evidence);
    this.step = new Float64Array(n * SQUARE);
    this.sums = { ahead: this.step, behind: this.step };
    this.quiet = new Uint8Array(n);
    this.untapped = new Uint8Array(n).fill(1);
    this.put = [new Float64Array(n), new Float64Array(n)];
    for (const t of evidence.tap_s) {
      // just before a tap the driver may have been late, so the movement is not heard
      const [lo, hi] = [t - LATE_S, t + 1].map((s) => firstNotBelow(ticks.t_s, s));
      this.quiet.fill(1, lo, hi);
      const at = firstNotBelow(ticks.t_s, t);
      if (at < n) this.untapped[at] = 0;
    }
  }

  /** The ground alone counts little against what was tapped; the movement counts in full. */
  heard(sum: Floats, alone: Floats): Floats {
    if (this.free) return sum;
    const { record, open } = this.evidence;
    return sum.map((value, i) => {
      const against = record[i] ? value < alone[i] : value > alone[i];
      return against && !open[i] ? alone[i] + GROUND_AGAINST * (value - alone[i]) : value;
    });
  }

  /** Chance of down at each tick. */
  chances(sum: Floats): Floats {
    this.steps(sum, this.step, (v) => Math.exp(Math.max(v, -700)));
    this.sums = sums(this.step, START);
    return odd(this.sums);
  }

  /** What is believed in the end; the chances are those last asked for, of the same scores. */
  believed(sum: Floats): Belief {
    const logs = new Float64Array(this.step.length);
    this.steps(sum, logs, (v) => v);
    const path = best(logs, START.map(Math.log));
    return {
      chance: odd(this.sums),
      down: this.centred(path),
      swapped: new Uint8Array(path.length).map((_, i) => (isSwapped(path[i]) ? 1 : 0)),
    };
  }

  /** `of` the log of every step with the evidence of its second; the largest of a second is nought. */
  private steps(sum: Floats, out: Floats, of: (log: number) => number): void {
    const { told } = this.evidence;
    const { speed_m_s, usual_m_s, backing } = this.ticks;
    const [down, up] = this.put;
    const never = of(NEVER);
    for (let i = 0, at = 0; i < sum.length; i++, at += SQUARE) {
      const weight = WEIGHT * Math.min(Math.max(speed_m_s[i] / usual_m_s, 0.15), 1);
      let gain = this.quiet[i] ? 0 : Math.min(Math.max(sum[i] * weight, -8), 8);
      if (backing[i]) gain = WEIGHT * BACKING;
      if (told[i] !== 0) gain = ANSWERED * told[i];
      const half = gain / 2;
      if (!this.untapped[i]) {
        const tap = this.taps.get(i) as Floats;
        const logs = tap.map((v, k) => v + (isDown(k & 3) ? half : -half));
        const most = logs.reduce((a, b) => Math.max(a, b), -Infinity);
        for (let k = 0; k < SQUARE; k++) out[at + k] = of(logs[k] - most);
        continue;
      }
      // taps do not turn about without one: twice the same four steps
      const falls = this.change + half + Math.min(Math.max(down[i], -PLACED), PLACED);
      const rises = this.change - half + Math.min(Math.max(up[i], -PLACED), PLACED);
      const most = Math.max(Math.abs(half), falls, rises);
      out.fill(never, at, at + SQUARE);
      out[at] = out[at + 10] = of(-half - most);
      out[at + 1] = out[at + 11] = of(falls - most);
      out[at + 4] = out[at + 14] = of(rises - most);
      out[at + 5] = out[at + 15] = of(half - most);
    }
  }

  /** The path with each untapped change moved to where most of its chance lies nearby. */
  private centred(path: Ints): Flags {
    const down = new Uint8Array(path.length).map((_, i) => (isDown(path[i]) ? 1 : 0));
    const out = down.slice();
    const at: number[] = [];
    for (let i = 1; i < down.length; i++) if (down[i] !== down[i - 1]) at.push(i);
    const ends = [0, ...at, down.length];
    at.forEach((k, i) => {
      if (!this.untapped[k]) return;
      const into = down[k];
      const lo = Math.max(ends[i] + 1, k - ROUND);
      const hi = Math.min(ends[i + 2], k + ROUND);
      const fresh = this.densest(lo, hi, into === 1);
      out.fill(1 - into, lo - 1, hi);
      out.fill(into, fresh, hi);
    });
    return out;
  }

  /** Where between two ticks the chance of a change lies densest. */
  private densest(lo: number, hi: number, into: boolean): number {
    const chance = Float64Array.from({ length: hi - lo }, (_, j) => {
      if (!this.untapped[lo + j]) return 0;
      const moves = changes(this.step, START, this.sums, lo + j);
      return moves.reduce((sum, move, k) => (isDown(k & 3) === into && isDown(k >> 2) !== into ? sum + move : sum), 0);
    });
    const way = this.ticks.way_m.subarray(lo, hi);
    const dense = way.map((w) =>
      way.reduce((sum, v, j) => sum + Math.exp(-0.5 * ((w - v) / WITHIN_M) ** 2) * chance[j], 0),
    );
    return lo + dense.indexOf(dense.reduce((most, v) => Math.max(most, v), -Infinity));
  }
}
