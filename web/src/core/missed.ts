// Lost furrows and wanders: departures from the furrow that must not pass as drift.
//
// Each is a column of the least-squares problem: a constant over a whole chain of neighbours (the
// driver took the wrong mark), or a smooth bump some tens of seconds long (attention was
// elsewhere). A column is weighed without solving anew: with the residuals r, weights w and normal
// matrix N of the settled solution its estimate is ĝ = hᵀwr / d, variance 1/d, where d = hᵀwh −
// hᵀwA N⁻¹ Aᵀwh is what of the column the drift cannot explain (a score test). The odds that it is
// there are prior odds times N(ĝ; m, 1/d + s²) / N(ĝ; 0, 1/d).
import type { Chance } from "./chance";
import { median, order, taken } from "./columns";
import type { Gaps, Samples } from "./samples";
import type { Solved } from "./solve";
import { unbroken } from "./spans";
import { times } from "./sparse";
import { whitening } from "./system";
import type { Bump, Rows, Whitening } from "./system";
import type { Floats } from "./words";

/** Prior chance of a lost furrow per chain of at least so many rows, and of its size, m. */
const [FURROW_PRIOR, FURROW_ROWS, FURROW_M] = [0.01, 10, { mean_m: 1.6, spread_m: 1.2 }] as const;
/**
 * Prior chance of a wander per candidate, its size, m, its half lengths, s, and their spacing, s.
 */
const [WANDER_PRIOR, WANDER_M] = [0.0015, { mean_m: 0, spread_m: 1 }] as const;
const [HALVES_S, EVERY_S] = [[14, 24], 12] as const;
/** A lost furrow leaves a gap of this size, m. */
const PLAUSIBLE_M = [0.6, 8] as const;
/** Columns are weighed exactly when a rough weighing gives at least these log odds. */
const [WORTH_A_LOOK, MOST] = [-3.5, 120];
/** A chain gets a free constant (spread, m) beyond so many sigmas; so many are looked at. */
const [FREE_M, BEYOND, LOOK] = [4, 4, 60];

/** A column with the chance that it is there. */
export interface Candidate {
  readonly bump: Bump;
  readonly chance: number;
}

/** A settled solution that columns are weighed against: the seams are the first of its rows. */
export class Weighing {
  readonly seam: Gaps;
  readonly t_s: Floats;
  private readonly rows: Rows;
  private readonly solved: Solved;
  private readonly white: Whitening;
  private readonly pull: Floats;

  /** `steer_m` is the steering spread that the rows were whitened with. */
  constructor(s: Samples, seam: Gaps, rows: Rows, solved: Solved, steer_m: number) {
    this.seam = seam;
    this.rows = rows;
    this.solved = solved;
    this.t_s = seam.gap_m.map((_, i) => s.t_s[seam.who[3 * i]]);
    this.white = whitening(seam.chain, this.t_s, steer_m);
    const fit = times(rows.matrix, solved.x);
    const own = seam.gap_m.map((_, i) => solved.weight[i] * (fit[i] - rows.rhs[i]));
    this.pull = own.map((value, i) => {
      const next = i + 1 < own.length ? this.white.before[i + 1] * own[i + 1] : 0;
      return this.white.own[i] * value + next;
    });
  }

  /** hᵀwr of a column. */
  reach({ from, shape }: Bump): number {
    return shape.reduce((sum, value, k) => sum + value * this.pull[from + k], 0);
  }

  /** What of each column the other unknowns cannot explain: d of the score test. */
  left(bumps: readonly Bump[]): Floats {
    const { matrix } = this.rows;
    const own = new Float64Array(bumps.length);
    // those beside each other are told together
    const by = order(bumps.map(({ from }) => from));
    const rhs = Array.from(by, (b) => {
      const { from, shape } = bumps[b];
      const [at, value]: [number[], number[]] = [[], []];
      for (let i = from; i <= from + shape.length && i < this.seam.gap_m.length; i++) {
        const here = i < from + shape.length ? shape[i - from] : 0;
        const last = i > from ? shape[i - from - 1] : 0;
        const white = this.white.own[i] * here + this.white.before[i] * last;
        const weighted = this.solved.weight[i] * white;
        own[b] += white * weighted;
        for (let k = matrix.start[i]; k < matrix.start[i + 1]; k++) {
          at.push(matrix.column[k]);
          value.push(matrix.value[k] * weighted);
        }
      }
      return { at, value };
    });
    const explained = this.solved.factor.squares(rhs);
    by.forEach((b, i) => (own[b] = Math.max(own[b] - explained[i], 1e-6)));
    return own;
  }
}

/** Departures with a chance worth knowing, surest first. */
export function candidates(weighing: Weighing): Candidate[] {
  const bumps = [...furrows(weighing.seam), ...wanders(weighing.seam, weighing.t_s)];
  const reach = Float64Array.from(bumps, (bump) => weighing.reach(bump));
  const rough = logOdds(bumps, reach, roughly(weighing, bumps));
  const look = order(rough.map((odds) => -odds))
    .slice(0, MOST)
    .filter((i) => rough[i] > WORTH_A_LOOK);
  if (look.length === 0) return [];
  const looked = Array.from(look, (i) => bumps[i]);
  const reached = taken(reach, look);
  const exact = weighing.left(looked);
  const odds = logOdds(looked, reached, exact);
  const out: Candidate[] = [];
  const spoken = new Uint8Array(weighing.seam.gap_m.length);
  for (const k of order(odds.map((one) => -one))) {
    const bump = looked[k];
    const chance = 1 / (1 + Math.exp(-odds[k]));
    const end = bump.from + bump.shape.length;
    if (chance < 0.03 || spoken.subarray(bump.from, end).includes(1)) continue;
    const size = reached[k] / exact[k];
    if (bump.mean_m > 0 && !(size > PLAUSIBLE_M[0] && size < PLAUSIBLE_M[1])) continue;
    spoken.fill(1, bump.from, end);
    out.push({ bump, chance });
  }
  return out;
}

/**
 * The chain whose constant gap is least like following a furrow, if it is beyond chance.
 *
 * Such a chain (a closing run, a lost furrow, a run that is nobody's neighbour) keeps its shape but
 * gets a constant of its own, so that it pulls nothing.
 */
export function worstChain(weighing: Weighing, known: readonly Bump[]): Bump | null {
  const free = new Set(known.map((bump) => bump.from));
  const bumps = unbroken(weighing.seam.chain)
    .filter(([a]) => !free.has(a))
    .map(([a, b]) => constant(a, b, { mean_m: 0, spread_m: FREE_M }));
  const look = bumps
    .map((bump) => ({ bump, reach: Math.abs(weighing.reach(bump)) }))
    .sort((one, two) => two.reach - one.reach)
    .slice(0, LOOK);
  const own = weighing.left(look.map(({ bump }) => bump));
  let [best, most]: [Bump | null, number] = [null, BEYOND];
  look.forEach(({ bump, reach }, i) => {
    if (reach / Math.sqrt(own[i]) > most) [best, most] = [bump, reach / Math.sqrt(own[i])];
  });
  return best;
}

/** The candidates of one draw: each on with its own chance. */
export function switched(found: readonly Candidate[], chance: Chance): Bump[] {
  return found.filter((one) => chance.uniform() < one.chance).map((one) => one.bump);
}

/** The candidates that belong in the best picture. */
export function likely(found: readonly Candidate[], least: number): Bump[] {
  const odds = (chance: number): number => Math.log(chance / Math.max(1 - chance, 1e-12));
  return found.filter((one) => odds(one.chance) >= least).map((one) => one.bump);
}

function constant(a: number, b: number, prior: { mean_m: number; spread_m: number }): Bump {
  return { from: a, shape: new Float64Array(b - a).fill(1), ...prior };
}

function furrows(seam: Gaps): Bump[] {
  return unbroken(seam.chain)
    .filter(([a, b]) => b - a >= FURROW_ROWS)
    .map(([a, b]) => constant(a, b, FURROW_M));
}

function wanders(seam: Gaps, t: Floats): Bump[] {
  const out: Bump[] = [];
  for (const [a, b] of unbroken(seam.chain)) {
    for (const half of HALVES_S) {
      const end = t[b - 1] - half / 2;
      for (let k = 0; t[a] + half / 2 + k * EVERY_S < end; k++) {
        const middle = t[a] + half / 2 + k * EVERY_S;
        let [from, to] = [a, b];
        while (from < b && t[from] <= middle - half) from += 1;
        while (to > from && t[to - 1] >= middle + half) to -= 1;
        if (to - from < 3) continue;
        const shape = t
          .slice(from, to)
          .map((at) => 0.5 + 0.5 * Math.cos((Math.PI * (at - middle)) / half));
        out.push({ from, shape, ...WANDER_M });
      }
    }
  }
  return out;
}

/** What the drift leaves of each column, from a few of its kind. */
function roughly(weighing: Weighing, bumps: readonly Bump[]): Floats {
  const kinds = new Map<string, number[]>();
  bumps.forEach(({ mean_m, shape }, i) => {
    const kind = `${mean_m} ${shape.length >> 2}`;
    const mine = kinds.get(kind);
    if (mine === undefined) kinds.set(kind, [i]);
    else mine.push(i);
  });
  const out = new Float64Array(bumps.length);
  kinds.forEach((mine) => {
    const step = Math.max(1, Math.floor(mine.length / 4));
    const few = mine.filter((_, k) => k % step === 0).slice(0, 4);
    const own = median(weighing.left(few.map((i) => bumps[i])));
    for (const i of mine) out[i] = own;
  });
  return out;
}

function logOdds(bumps: readonly Bump[], reach: Floats, own: Floats): Floats {
  return reach.map((pull, i) => {
    const { mean_m, spread_m } = bumps[i];
    const [best, spread] = [pull / own[i], 1 / own[i]];
    const wide = spread + spread_m * spread_m;
    const prior = mean_m > 0 ? FURROW_PRIOR : WANDER_PRIOR;
    const fit = (-0.5 * ((best - mean_m) * (best - mean_m))) / wide - 0.5 * Math.log(wide);
    const none = (-0.5 * (best * best)) / spread - 0.5 * Math.log(spread);
    return fit - none + Math.log(prior / (1 - prior));
  });
}
