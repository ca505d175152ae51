// Settling: the picture moved so that neighbouring runs lie where the driver steered them.
//
// Seams are paired, the drift's size is learned, the drift is solved for, seams are paired again in
// the moved picture and solved for once more. What is left of the drift's roughness between samples
// is smoothed out of the lines on straights. A track whose seams are no wider than steering itself
// is left alone: there is nothing to take out.
import type { Chance } from "./chance";
import { median } from "./columns";
import { flat } from "./cover";
import { STEER_FACTOR, STEER_M, few, learn } from "./drift";
import type { Drift, Heard } from "./drift";
import { ends, fence } from "./edges";
import type { Plan } from "./fronts";
import { along, moved, tapShifts } from "./lines";
import { Weighing, candidates, likely, switched, worstChain } from "./missed";
import type { Candidate } from "./missed";
import type { PegVisit, Picture, Stretch } from "./picture";
import { noGaps, samples, unmoved } from "./samples";
import type { Gaps, Samples } from "./samples";
import { seams } from "./seams";
import { Solver, draw, solve, weighted } from "./solve";
import type { Solved } from "./solve";
import { System, assemble } from "./system";
import type { Bump, Known, Rows, Told } from "./system";
import type { Area, Floats } from "./words";

/** Seams spread no wider than this come from steering alone: nothing is settled, m. */
const STEERING_ONLY_M = 0.42;
/** Of too few seams to tell: drift below this is no more than steering, m. */
const SMALL_M = 0.35;
/** Largest middle gap of a chain of neighbours, in widths: as logged, then as moved, twice. */
const ONE_W = [0.4, 0.45, 0.4] as const;
/** Largest middle gap to the fence of an outermost run, in widths. */
const FENCE_W = 0.4;
/** A shift of the whole day is looked for this far, m, where so many rows lie along the fence. */
const [SHIFT_M, SHIFT_ROWS] = [7, 20];
/** How well half a minute beside a peg is read, m. */
const PEG_M = 0.3;
/** Sets of sizes (drift, steering) among which the draws are shared out. */
const SETS = 6;
/** A lost furrow or a wander belongs in the best picture from these log odds. */
const ACCEPT_LOG_ODDS = 3;
/** At most so many chains get a constant of their own. */
const FREE_CHAINS = 10;
/** A lost furrow or wander that is left out is held to this spread, m. */
const NONE_M = 1e-6;

/**
 * How a day is settled: what the fixes tell; known marks that were visited; how many draws; where
 * `move` is false, the picture is left as logged.
 */
export interface How extends Heard {
  readonly pegs: readonly PegVisit[];
  readonly draws: number;
  readonly move: boolean;
}

/** The most probable drift of a day, and all that draws of it are made from. */
interface Best {
  readonly told: Told;
  /** Drift at every sample, east and north, m. */
  readonly drift: [Floats, Floats];
  readonly overlap_m: number;
  /** Weights of the rows. */
  readonly weight: Floats;
  /** Chains set free, and lost furrows and wanders that may be. */
  readonly free: readonly Bump[];
  readonly maybe: readonly Candidate[];
  /** How its system is factored. */
  readonly plan: Plan | null;
}

/** A settled day, plain data that another worker can be handed; `best` null where it is left alone. */
export interface Settled {
  readonly samples: Samples;
  readonly white_m: number;
  readonly best: Best | null;
}

/** Draws of the displacement from the picture at samples, one column a draw. */
export type Draws = Pick<Picture, "east_draws" | "north_draws">;

/**
 * Settle a day: all stretches of all runs on the plane, and the paddock's outline where it is not
 * from this day's lap, null where it is.
 */
export function settle(
  stretches: readonly Stretch[],
  boundary: Area | null,
  how: How,
  chance: Chance,
): Picture {
  const day = settled(stretches, boundary, how);
  return pictureOf(stretches, day, allOf(drawsOf(day, how.draws, chance)));
}

/** What `settle` finds, without draws. */
export function settled(
  stretches: readonly Stretch[],
  boundary: Area | null,
  how: Omit<How, "draws">,
): Settled {
  const s = samples(stretches);
  const day = how.move && s.t_s.length > 0 ? dayOf(s, stretches, boundary, how) : null;
  return { samples: s, white_m: how.white_m, best: day && bestOf(day) };
}

/** So many draws from a settled day, some at a time. */
export function* drawsOf({ samples: s, white_m, best }: Settled, draws: number, chance: Chance): Generator<Draws, void, void> {
  if (best === null) return yield leftAlone(s, white_m, draws, chance);
  const smooth = along(s);
  for (const made of drawn(new Day(s, best.told, new Solver(best.plan)), best, draws, chance)) {
    const off = (axis: 0 | 1): Floats[] =>
      made.map((one) => smooth(best.drift[axis].map((value, i) => value - one[axis][i])));
    yield { east_draws: off(0), north_draws: off(1) };
  }
}

/** All of them. */
export function allOf(some: Iterable<Draws>): Draws {
  const all = Array.from(some);
  return { east_draws: flat(all.map((one) => one.east_draws)), north_draws: flat(all.map((one) => one.north_draws)) };
}

/** The picture of a settled day, and draws of it. */
export function pictureOf(stretches: readonly Stretch[], day: Settled, draws: Draws): Picture {
  const { samples: s, white_m, best } = day;
  if (best === null) {
    const zero = new Float64Array(s.t_s.length);
    return { stretches, samples: s, ...draws, info: null, sigma_m: white_m, east_m: zero, north_m: zero };
  }
  const { told, overlap_m } = best;
  const [east_m, north_m] = best.drift.map((axis) => axis.map((value) => -value));
  const squares = east_m.reduce((sum, e, i) => sum + e * e + north_m[i] * north_m[i], 0);
  const { sigma_m, tau_s } = told.drift;
  const info = { moved_m: Math.sqrt(squares / east_m.length), sigma_m, tau_s, overlap_m, seams: new Set(told.seam.chain).size };
  return { stretches: moved(stretches, s, east_m, north_m), samples: s, ...draws, info, sigma_m, east_m, north_m };
}

/**
 * All that the day says, paired three times over in a picture that is better each time; null where
 * steering alone explains it, by the seams, or of few by the fixes.
 */
function dayOf(
  s: Samples,
  stretches: readonly Stretch[],
  boundary: Area | null,
  how: Omit<How, "draws">,
): Day | null {
  const first = seams(s, s.x_m, s.y_m, ONE_W[0]);
  const drift = learn(s, first, how);
  if (few(first) ? drift.sigma_m < SMALL_M : spreadOf(first) < STEERING_ONLY_M) return null;
  const halfBar_m = stretches.reduce((most, x) => Math.max(most, (x.front_m - x.rear_m) / 2), 0);
  const pegs = known(s, how.pegs, drift);
  const again = (before: Drift, east: Floats, north: Floats, seam: Gaps | number): Told =>
    toldIn(s, { east, north }, { drift: before, boundary, halfBar_m, pegs, seam, how });
  const [shiftEast, shiftNorth] = wholeShift(s, boundary).map((by) => s.t_s.map(() => by));
  // moved as a whole it has the same seams
  let day = new Day(s, again(drift, shiftEast, shiftNorth, first), new Solver());
  for (const mostW of ONE_W.slice(1)) {
    const { system, solved } = day.solved([], 2);
    const told = again(day.told.drift, ...system.driftOf(solved.x), mostW);
    day = new Day(s, told, new Solver(null, day.solver));
  }
  return day;
}

/** One most probable solution with the system and rows it solves. */
interface Fit {
  readonly system: System;
  readonly rows: Rows;
  readonly solved: Solved;
}

/** A day and everything it says, to be solved with one or another set of bumps. */
class Day {
  readonly s: Samples;
  readonly told: Told;
  readonly solver: Solver;

  constructor(s: Samples, told: Told, solver: Solver) {
    this.s = s;
    this.told = told;
    this.solver = solver;
  }

  solved(bumps: readonly Bump[], rounds: number, weight?: Floats): Fit {
    const { system, rows } = this.rowsOf(bumps, this.told.drift, STEER_M);
    const before = weight?.subarray(0, rows.robust);
    return { system, rows, solved: solve(this.solver, system, rows, rounds, before) };
  }

  rowsOf(bumps: readonly Bump[], drift: Drift, steer_m: number): { system: System; rows: Rows } {
    const system = new System(this.s, this.told.pegs, bumps);
    return { system, rows: assemble(system, drift, this.told, steer_m) };
  }
}

/** The best solution, with chains beyond chance set free, and lost furrows and wanders in it. */
function bestOf(day: Day): Best {
  const free: Bump[] = [];
  let fit = day.solved(free, 4);
  const weighing = (): Weighing => new Weighing(day.s, day.told.seam, fit.rows, fit.solved, STEER_M);
  for (let k = 0; k < FREE_CHAINS; k++) {
    const worst = worstChain(weighing(), free);
    if (worst === null) break;
    free.push(worst);
    fit = day.solved(free, 2, fit.solved.weight);
  }
  const maybe = candidates(weighing());
  const sound = likely(maybe, ACCEPT_LOG_ODDS);
  if (sound.length > 0) fit = day.solved([...free, ...only(sound, maybe)], 2, fit.solved.weight);
  const { x, weight } = fit.solved;
  const drift = fit.system.driftOf(x);
  return { told: day.told, drift, overlap_m: x[fit.system.overlap], weight, free, maybe, plan: day.solver.plan };
}

/** All candidates, those that are not `on` as good as gone: the systems of all choices have one shape. */
function only(on: readonly Bump[], maybe: readonly Candidate[]): Bump[] {
  return maybe.map(({ bump }) => (on.includes(bump) ? bump : { ...bump, mean_m: 0, spread_m: NONE_M }));
}

/**
 * By how much the whole day lies beside the fence, metres east and north.
 *
 * The shift, on a grid of half metres, in which the outermost runs lie best along the fence: it
 * keeps a picture that is off by half a width from taking the second lap for the first.
 */
function wholeShift(s: Samples, boundary: Area | null): [number, number] {
  const rows = boundary === null ? noGaps() : fence(s, boundary, 2, 2.2);
  if (rows.gap_m.length < SHIFT_ROWS) return [0, 0];
  let best: [number, number] = [0, 0];
  let least = Infinity;
  const steps = Array.from({ length: 4 * SHIFT_M + 1 }, (_, i) => i / 2 - SHIFT_M);
  for (const north of steps) {
    for (const east of steps) {
      let cost = 0.02 * rows.gap_m.length * Math.hypot(east, north);
      for (let i = 0; i < rows.gap_m.length; i++) {
        const off = rows.gap_m[i] + rows.east[3 * i] * east + rows.north[3 * i] * north - 0.1;
        cost += Math.min(Math.abs(off), 2.5);
      }
      if (cost < least) [best, least] = [[east, north], cost];
    }
  }
  return best;
}

/**
 * Everything paired in the picture moved by (−east, −north); the drift learned from seams as
 * logged.
 */
function toldIn(
  s: Samples,
  by: { readonly east: Floats; readonly north: Floats },
  from: {
    readonly drift: Drift;
    readonly boundary: Area | null;
    readonly halfBar_m: number;
    readonly pegs: readonly Known[];
    /** The seams where they are known, else how near they are looked for, in widths. */
    readonly seam: Gaps | number;
    readonly how: Omit<How, "draws">;
  },
): Told {
  const x_m = s.x_m.map((x, i) => x - by.east[i]);
  const y_m = s.y_m.map((y, i) => y - by.north[i]);
  const there = { ...s, x_m, y_m };
  const seam = typeof from.seam === "number" ? seams(s, x_m, y_m, from.seam) : from.seam;
  const atFence = from.boundary === null ? noGaps() : fence(there, from.boundary, FENCE_W);
  const { gaps, starts } = ends(there, from.halfBar_m);
  return {
    drift: seam === from.seam || few(seam) ? from.drift : learn(s, seam, from.how),
    seam,
    fence: unmoved(atFence, by.east, by.north),
    ends: { gaps: unmoved(gaps, by.east, by.north), starts },
    pegs: from.pegs,
  };
}

/** Peg visits tied to the nearest sample of their phone, looser the longer ago. */
function known(s: Samples, pegs: readonly PegVisit[], drift: Drift): Known[] {
  const names = [...new Set(pegs.map((peg) => peg.name))].sort();
  const out: Known[] = [];
  for (const { t_s, leg, x_m, y_m, name } of pegs) {
    let [sample, apart] = [-1, Infinity];
    for (let i = 0; i < s.t_s.length; i++) {
      const off = Math.abs(s.t_s[i] - t_s);
      if (s.leg[i] === leg && off < apart) [sample, apart] = [i, off];
    }
    if (sample < 0) continue;
    const since = 2 * drift.sigma_m ** 2 * (1 - Math.exp(-apart / drift.tau_s));
    const sigma_m = Math.sqrt(PEG_M ** 2 + since);
    out.push({ sample, x_m, y_m, peg: names.indexOf(name), sigma_m });
  }
  return out;
}

/** A robust sigma of the gaps. */
function spreadOf(rows: Gaps): number {
  const middle = median(rows.gap_m);
  return 1.4826 * median(rows.gap_m.map((gap) => Math.abs(gap - middle)));
}

/**
 * Draws of the drift, east and north, set by set.
 *
 * They are shared out among sets with other sizes of drift, another spread of steering, and with
 * each possible lost furrow or wander there or not by its own chance.
 */
function* drawn(
  day: Day,
  { free, maybe, weight }: Best,
  draws: number,
  chance: Chance,
): Generator<[Floats, Floats][], void, void> {
  const { spread } = day.told.drift;
  const weights = spread.map((size) => size.weight);
  for (let k = 0; k < SETS; k++) {
    const count = Math.floor(((k + 1) * draws) / SETS) - Math.floor((k * draws) / SETS);
    if (count === 0) continue;
    const steer_m = STEER_M * STEER_FACTOR ** ((((k + 0.5) / SETS) * 2 - 1) * 1.5);
    const sizes = { ...day.told.drift, ...spread[chance.pick(weights)] };
    const bumps = only(switched(maybe, chance), maybe);
    const { system, rows } = day.rowsOf([...free, ...bumps], sizes, steer_m);
    const mine = weighted(rows.rhs.length, weight.subarray(0, rows.robust));
    const factor = day.solver.factor(system, rows.matrix, mine);
    yield draw(factor, rows, mine, count, chance).map((x) => system.driftOf(x));
  }
}

/** Draws of a picture left alone: only the quick noise of single positions, and the taps. */
function leftAlone(s: Samples, white_m: number, draws: number, chance: Chance): Draws {
  const [east_draws, north_draws]: [Floats[], Floats[]] = [[], []];
  for (let k = 0; k < draws; k++) {
    const taps = tapShifts(s, chance);
    const off = (tap: number): number => tap + (white_m / 2) * chance.normal();
    east_draws.push(taps.east.map(off));
    north_draws.push(taps.north.map(off));
  }
  return { east_draws, north_draws };
}
