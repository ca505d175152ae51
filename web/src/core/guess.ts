// Where the tool was down, from the movement and whatever was tapped.
//
// A hidden chain at one step a second: the tool is up or down, crossed with "taps mean what they say" or
// "down and up are swapped". Each second adds the summed scores of its signs (`signs`), each tap is
// evidence for a change at its time. The ground sown by other passes enters through the chances
// themselves, so the chain is run several rounds, each with the ground of the last.
//
// The clock of the chain is that of the seed: a lowering counts from when every opener seeds.
import { beside, laid } from "./beside";
import { best, changes, STATES, states } from "./chain";
import { firstNotBelow } from "./columns";
import { GOES_DOWN, GOES_UP, MOVEMENT, WITH_GROUND } from "./scores";
import { ground, movement, place, score } from "./signs";
import { ANSWERED, type Evidence, stepsOf } from "./taps";
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

/** Whether a state is down, and whether taps are swapped in it. */
const isDown = (state: number): boolean => (state & 1) === 1;
const isSwapped = (state: number): boolean => (state & 2) === 2;

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
  const strips = laid(ticks, width_m);
  let sum = alone;
  const chance = day.chances(sum);
  for (let round = 0; round < ROUNDS; round++) {
    const near = beside(strips, chance);
    const every = ground(ticks, near);
    const here = place(ticks, motion, near, every);
    day.put = [score(here, GOES_DOWN), score(here, GOES_UP)];
    sum = day.heard(score({ ...motion, ...every }, WITH_GROUND), alone);
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
  private readonly steps: Floats;
  private readonly quiet: Flags;
  private readonly untapped: Flags;

  constructor(ticks: Ticks, evidence: Evidence, free: boolean) {
    const n = ticks.t_s.length;
    this.ticks = ticks;
    this.evidence = evidence;
    this.free = free;
    this.steps = stepsOf(ticks, evidence, free);
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
    const { state } = states(exponential(this.logs(sum)), START);
    return downOf(state);
  }

  /** What is believed in the end. */
  believed(sum: Floats): Belief {
    const logs = this.logs(sum);
    const path = best(logs, START.map(Math.log));
    const step = exponential(logs);
    const found = states(step, START);
    const moves = changes(step, START, found);
    return {
      chance: downOf(found.state),
      down: this.centred(path, moves),
      swapped: Uint8Array.from(path, (state) => (isSwapped(state) ? 1 : 0)),
    };
  }

  /** Log of every step with the evidence of its second; the largest of a second is nought. */
  private logs(sum: Floats): Floats {
    const out = this.steps.slice();
    const { told } = this.evidence;
    for (let i = 0; i < sum.length; i++) {
      const pace = this.ticks.speed_m_s[i] / this.ticks.usual_m_s;
      const weight = WEIGHT * Math.min(Math.max(pace, 0.15), 1);
      let gain = this.quiet[i] ? 0 : Math.min(Math.max(sum[i] * weight, -8), 8);
      if (this.ticks.backing[i]) gain = WEIGHT * BACKING;
      if (told[i] !== 0) gain = ANSWERED * told[i];
      let most = -Infinity;
      for (let k = 0; k < SQUARE; k++) {
        const [from, to] = [isDown(k >> 2), isDown(k & 3)];
        let value = out[i * SQUARE + k] + (to ? 0.5 : -0.5) * gain;
        if (from !== to && this.untapped[i]) {
          value += Math.min(Math.max(this.put[to ? 0 : 1][i], -PLACED), PLACED);
        }
        out[i * SQUARE + k] = value;
        most = Math.max(most, value);
      }
      for (let k = i * SQUARE; k < (i + 1) * SQUARE; k++) out[k] -= most;
    }
    return out;
  }

  /** The path with each untapped change moved to where most of its chance lies nearby. */
  private centred(path: Ints, moves: Floats): Flags {
    const down = Uint8Array.from(path, (state) => (isDown(state) ? 1 : 0));
    const out = down.slice();
    const at: number[] = [];
    for (let i = 1; i < down.length; i++) if (down[i] !== down[i - 1]) at.push(i);
    const ends = [0, ...at, down.length];
    at.forEach((k, i) => {
      if (!this.untapped[k]) return;
      const into = down[k];
      const lo = Math.max(ends[i] + 1, k - ROUND);
      const hi = Math.min(ends[i + 2], k + ROUND);
      const fresh = this.densest(lo, hi, into === 1, moves);
      out.fill(1 - into, lo - 1, hi);
      out.fill(into, fresh, hi);
    });
    return out;
  }

  /** Where between two ticks the chance of a change lies densest. */
  private densest(lo: number, hi: number, into: boolean, moves: Floats): number {
    const chance = Float64Array.from({ length: hi - lo }, (_, j) => {
      if (!this.untapped[lo + j]) return 0;
      let sum = 0;
      for (let k = 0; k < SQUARE; k++) {
        if (isDown(k & 3) === into && isDown(k >> 2) !== into) sum += moves[(lo + j) * SQUARE + k];
      }
      return sum;
    });
    const way = this.ticks.way_m.subarray(lo, hi);
    const dense = way.map((w) =>
      way.reduce((sum, v, j) => sum + Math.exp(-0.5 * ((w - v) / WITHIN_M) ** 2) * chance[j], 0),
    );
    return lo + dense.indexOf(dense.reduce((most, v) => Math.max(most, v), -Infinity));
  }
}

function exponential(logs: Floats): Floats {
  return logs.map((v) => Math.exp(Math.max(v, -700)));
}

function downOf(state: Floats): Floats {
  const out = new Float64Array(state.length / STATES);
  for (let i = 0; i < out.length; i++) out[i] = state[i * STATES + 1] + state[i * STATES + 3];
  return out;
}
