// Where the tool was down, from the movement and whatever was tapped.
//
// A hidden chain at one step a second: the tool is up or down, crossed with "taps mean what they say" or
// "down and up are swapped". Each second adds the summed scores of its signs (`signs`), each tap is
// evidence for a change at its time. The ground sown by other passes enters through the chances
// themselves, so the chain is run several rounds, each with the ground of the last.
//
// The clock of the chain is that of the seed: a lowering counts from when every opener seeds.
import { laid, nothing, relay } from "./beside";
import { best, type Chain, change, room, sumUp } from "./chain";
import { firstNotBelow } from "./columns";
import { GOES_DOWN, GOES_UP, MOVEMENT, WITH_GROUND } from "./scores";
import { ground, movement, place, placeBeside, score } from "./signs";
import { ANSWERED, changeOf, type Evidence, isDown, isSwapped, tapsAt } from "./taps";
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
  // what does not change with the ground is scored once
  const moves = score(motion, WITH_GROUND);
  const here = place(ticks, motion);
  const places = [GOES_DOWN, GOES_UP].map((tables) => score(here, tables));
  const strips = laid(ticks, width_m);
  const near = nothing(ticks.t_s.length);
  const chance = day.chances(alone, alone).slice();
  for (let round = 0; round < ROUNDS; round++) {
    relay(strips, chance, near);
    const every = ground(ticks, near);
    const there = placeBeside(ticks, near, every);
    day.put = [score(there, GOES_DOWN, places[0]), score(there, GOES_UP, places[1])];
    const found = day.chances(score(every, WITH_GROUND, moves), alone);
    let most = 0;
    let told = !free;
    for (let i = 0; i < found.length; i++) {
      most = Math.max(most, Math.abs(found[i] - chance[i]));
      told = told && found[i] > 0.5 === (evidence.record[i] === 1);
      chance[i] = (1 - MOVE) * chance[i] + MOVE * found[i];
    }
    if (told && most < SETTLED) break;
  }
  return day.believed();
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
  /** What a score counts at each tick. */
  private readonly weight: Floats;
  private readonly chain: Chain & { readonly tapped: Map<number, Floats> };
  private readonly sums;

  constructor(ticks: Ticks, evidence: Evidence, free: boolean) {
    const n = ticks.t_s.length;
    this.ticks = ticks;
    this.evidence = evidence;
    this.free = free;
    this.change = changeOf(evidence, free);
    this.taps = tapsAt(ticks, evidence);
    this.chain = { plain: new Float64Array(4 * n), is: new Uint8Array(n), tapped: new Map(), start: START };
    this.sums = room(n);
    this.put = [new Float64Array(n), new Float64Array(n)];
    this.weight = ticks.speed_m_s.map((v) => WEIGHT * Math.min(Math.max(v / ticks.usual_m_s, 0.15), 1));
    for (const t of evidence.tap_s) {
      // just before a tap the driver may have been late, so the movement is not heard
      const [lo, hi] = [t - LATE_S, t + 1].map((s) => firstNotBelow(ticks.t_s, s));
      this.weight.fill(0, lo, hi);
    }
    this.taps.forEach((_, i) => {
      this.chain.is[i] = 1;
    });
  }

  /** Chance of down at each tick, until it is asked for again; `alone` are the scores of the movement. */
  chances(scored: Floats, alone: Floats): Floats {
    this.steps(scored, alone);
    sumUp(this.chain, this.sums);
    return this.sums.down;
  }

  /** What is believed in the end, of the scores that the chances were last asked for. */
  believed(): Belief {
    const path = best(this.chain);
    return {
      chance: this.sums.down,
      down: this.centred(path),
      swapped: new Uint8Array(path.length).map((_, i) => (isSwapped(path[i]) ? 1 : 0)),
    };
  }

  /** The log of every step with the evidence of its second; the largest of a second is nought. */
  private steps(scored: Floats, alone: Floats): void {
    const { plain, tapped } = this.chain;
    const [down, up] = this.put;
    for (let i = 0, at = 0; i < scored.length; i++, at += 4) {
      const half = this.half(i, scored[i], alone[i]);
      // taps do not turn about without one: twice the same four steps
      const falls = this.change + half + Math.min(Math.max(down[i], -PLACED), PLACED);
      const rises = this.change - half + Math.min(Math.max(up[i], -PLACED), PLACED);
      const most = Math.max(Math.abs(half), falls, rises);
      plain[at] = -half - most;
      plain[at + 1] = falls - most;
      plain[at + 2] = rises - most;
      plain[at + 3] = half - most;
    }
    this.taps.forEach((tap, i) => {
      const half = this.half(i, scored[i], alone[i]);
      const logs = tap.map((v, k) => v + (isDown(k & 3) ? half : -half));
      const most = logs.reduce((a, b) => Math.max(a, b), -Infinity);
      tapped.set(i, logs.map((v) => v - most));
    });
  }

  /** Half the evidence of a second for down. */
  private half(i: number, scored: number, alone: number): number {
    const { told, record, open } = this.evidence;
    // the ground alone counts little against what was tapped; the movement counts in full
    const more = scored - alone;
    const heard = this.free || open[i] === 1 || (record[i] ? more : -more) >= 0 ? 1 : GROUND_AGAINST;
    const gain = Math.min(Math.max((alone + heard * more) * this.weight[i], -8), 8);
    return (told[i] ? ANSWERED * told[i] : this.ticks.backing[i] ? WEIGHT * BACKING : gain) / 2;
  }

  /** The path with each untapped change moved to where most of its chance lies nearby. */
  private centred(path: Ints): Flags {
    const down = new Uint8Array(path.length).map((_, i) => (isDown(path[i]) ? 1 : 0));
    const out = down.slice();
    const at: number[] = [];
    for (let i = 1; i < down.length; i++) if (down[i] !== down[i - 1]) at.push(i);
    const ends = [0, ...at, down.length];
    at.forEach((k, i) => {
      if (this.chain.is[k]) return;
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
    const chance = Float64Array.from({ length: hi - lo }, (_, j) => (this.chain.is[lo + j] ? 0 : change(this.sums, lo + j, into)));
    const way = this.ticks.way_m.subarray(lo, hi);
    const dense = way.map((w) =>
      way.reduce((sum, v, j) => sum + Math.exp(-0.5 * ((w - v) / WITHIN_M) ** 2) * chance[j], 0),
    );
    return lo + dense.indexOf(dense.reduce((most, v) => Math.max(most, v), -Infinity));
  }
}
