// The unknowns of settling and the rows that tell of them, all with unit spread.
//
// Unknown: the drift B at every sample of every run (along and across its own way: a seam tells only
// what is across its later run, so its row says nothing of half of those unknowns), a constant bias
// of each phone, the mean overlap, the mean clearance to the fence, the mean gaps at starts and
// finishes, and where a headland met aslant is lifted at. Rows:
//
// 1. the drift prior, a Gauss-Markov step between samples that follow each other;
// 2. the seams: gap = −overlap + steering, steering a Gauss-Markov process along each chain of
//    neighbours, so that its rows are whitened and not counted as independent;
// 3. the fence: gap = clearance + steering, where the boundary is not from this day's lap;
// 4. the ends of runs against the headland: gap = mean − slant · what the bar's outer end is behind
//    its middle there + spread;
// 5. pegs: positions logged beside one known mark differ by the drift.
import type { Drift } from "./drift";
import { STEER_S } from "./drift";
import type { Gaps, Samples } from "./samples";
import { Writer } from "./sparse";
import type { Sparse } from "./sparse";
import type { Flags, Floats, Ints } from "./words";

/**
 * Prior spread of a phone's constant bias, of the mean overlap about a small one, of the mean
 * clearance to the fence, of the mean gap at ends, m.
 */
const [BIAS_M, OVERLAP_M, CLEARANCE_M, END_MEAN_M] = [1.5, [0.3, 0.6], [0.1, 0.12], 3] as const;
/** Steering along the fence and spread of single ends, m. */
const [FENCE_M, END_M] = [0.3, 3];
/** Where a headland met aslant is lifted at: 0 the middle of the bar, 1 its last outer end. */
const SLANT = [0.5, 0.5] as const;
/** Spread of a peg's own place, m: it may lie anywhere. */
const ANYWHERE_M = 1e4;
/** Coefficients that sum to less than this sum to nothing. */
const ROUNDING = 1e-12;
/** A pause longer than this begins a new day with a constant bias of its own, s. */
const NEW_DAY_S = 3 * 3600;

/** Whitened rows: A x ≈ rhs with unit spread; the first `robust` of them are re-weighted. */
export interface Rows {
  readonly matrix: Sparse;
  readonly rhs: Floats;
  readonly robust: number;
}

/**
 * Pegs seen at some moments: nearest sample, logged place, which peg, and how well each tells the
 * sample's drift, m.
 */
export interface Known {
  readonly sample: number;
  readonly x_m: number;
  readonly y_m: number;
  readonly peg: number;
  readonly sigma_m: number;
}

/**
 * A possible departure from the furrow: seam rows `from` on, its shape over them, and its prior.
 * The gap is wider by g·shape, g with the given mean and spread, m.
 */
export interface Bump {
  readonly from: number;
  readonly shape: Floats;
  readonly mean_m: number;
  readonly spread_m: number;
}

/** Everything the day says of its drift. */
export interface Told {
  readonly drift: Drift;
  readonly seam: Gaps;
  readonly fence: Gaps;
  readonly ends: { readonly gaps: Gaps; readonly starts: Flags };
  readonly pegs: readonly Known[];
}

/**
 * Unknowns one after another: drift along, drift across, biases, means, pegs, bumps; their first
 * columns.
 */
export class System {
  readonly s: Samples;
  readonly bumps: readonly Bump[];
  readonly n: number;
  /** Number of each sample's session: a phone's day. */
  readonly session: Ints;
  /** The way at each sample: the direction of its first unknown. */
  readonly cos: Floats;
  readonly sin: Floats;
  readonly bias: number;
  readonly overlap: number;
  readonly clearance: number;
  readonly ends: number;
  readonly slant: number;
  readonly pegs: number;
  readonly bump: number;
  readonly size: number;

  constructor(s: Samples, pegs: readonly Known[], bumps: readonly Bump[] = []) {
    this.s = s;
    this.bumps = bumps;
    this.n = s.t_s.length;
    this.session = new Int32Array(this.n);
    [this.cos, this.sin] = [s.heading_rad.map(Math.cos), s.heading_rad.map(Math.sin)];
    let sessions = 1;
    for (let i = 1; i < this.n; i++) {
      // samples stand phone by phone in time order
      if (s.leg[i] !== s.leg[i - 1] || s.t_s[i] - s.t_s[i - 1] > NEW_DAY_S) sessions += 1;
      this.session[i] = sessions - 1;
    }
    this.bias = 2 * this.n;
    this.overlap = this.bias + 2 * sessions;
    this.clearance = this.overlap + 1;
    this.ends = this.clearance + 1;
    this.slant = this.ends + 2;
    this.pegs = this.slant + 1;
    this.bump = this.pegs + 2 * pegs.reduce((most, { peg }) => Math.max(most, peg + 1), 0);
    this.size = this.bump + bumps.length;
  }

  /** Drift with its session's bias at every sample, east and north. */
  driftOf(found: Floats): [Floats, Floats] {
    const { n, cos, sin } = this;
    const [east, north] = [new Float64Array(n), new Float64Array(n)];
    for (let i = 0; i < n; i++) {
      const bias = this.bias + 2 * this.session[i];
      east[i] = cos[i] * found[i] - sin[i] * found[n + i] + found[bias];
      north[i] = sin[i] * found[i] + cos[i] * found[n + i] + found[bias + 1];
    }
    return [east, north];
  }
}

/** All rows for one set of sizes; the seams first. */
export function assemble(system: System, drift: Drift, told: Told, steer_m: number): Rows {
  const to = new Assembly(system);
  const { seam, fence, ends } = told;
  const { overlap, clearance, bump, bumps } = system;
  const t = (rows: Gaps): Floats => rows.gap_m.map((_, i) => system.s.t_s[rows.who[3 * i]]);
  to.process(seam, whitening(seam.chain, t(seam), steer_m), (i, by) => {
    to.add(overlap, by);
    for (let k = 0; k < bumps.length; k++) {
      const at = i - bumps[k].from;
      if (at >= 0 && at < bumps[k].shape.length) to.add(bump + k, -bumps[k].shape[at] * by);
    }
  });
  to.process(fence, whitening(fence.chain, t(fence), FENCE_M), (_, by) => to.add(clearance, -by));
  ends.gaps.gap_m.forEach((gap, i) => {
    to.drift(ends.gaps, i, 1 / END_M);
    to.add(ends.starts[i] === 1 ? system.ends : system.ends + 1, -1 / END_M);
    to.add(system.slant, slanting(ends.gaps, i) / END_M);
    to.row(-gap / END_M, true);
  });
  for (const peg of told.pegs) to.peg(peg);
  to.steps(drift);
  to.means();
  return to.rows();
}

/** How far past its middle a bar's last outer end reaches a headland that it meets aslant, m. */
function slanting({ east, north, width_m }: Gaps, i: number): number {
  return (width_m[i] / 2) * Math.sqrt(Math.max(east[3 * i] ** 2 + north[3 * i] ** 2 - 1, 0));
}

class Assembly extends Writer {
  private readonly system: System;
  private readonly rhs: number[] = [];
  private robust = 0;

  constructor(system: System) {
    super(system.size);
    this.system = system;
  }

  rows(): Rows {
    return { matrix: this.matrix(), rhs: new Float64Array(this.rhs), robust: this.robust };
  }

  /** The row is written, and what it should come to. */
  row(rhs: number, robust = false): void {
    this.end();
    this.rhs.push(rhs);
    if (robust) this.robust = this.rhs.length;
  }

  /** a·(B_east·east + B_north·north) of a sample. */
  private both(who: number, east: number, north: number, by: number): void {
    const { n, cos, sin } = this.system;
    // what cancels must do so to the last bit: nought leaves no entry
    this.add(who, by * (cos[who] * east + sin[who] * north));
    this.add(n + who, by * (cos[who] * north - sin[who] * east));
  }

  /** Σ a·B of a row of gaps: drift and bias. */
  drift(rows: Gaps, row: number, by: number): void {
    const { bias, session } = this.system;
    const { who, east, north } = rows;
    const at = 3 * row;
    // of one session the biases cancel: most rows know nothing of them
    const level = session[who[at]] === session[who[at + 1]] && session[who[at]] === session[who[at + 2]];
    const [e, n] = [east[at] + east[at + 1] + east[at + 2], north[at] + north[at + 1] + north[at + 2]];
    const alone = level && Math.abs(e) + Math.abs(n) < ROUNDING;
    for (let k = at; k < at + 3; k++) {
      this.both(who[k], east[k], north[k], by);
      if (alone) continue;
      this.add(bias + 2 * session[who[k]], by * east[k]);
      this.add(bias + 2 * session[who[k]] + 1, by * north[k]);
    }
  }

  /**
   * Gaps whose misfit is a Gauss-Markov process along each chain; `more` adds the other unknowns.
   */
  process(rows: Gaps, white: Whitening, more: (row: number, by: number) => void): void {
    rows.gap_m.forEach((gap, i) => {
      this.drift(rows, i, white.own[i]);
      more(i, white.own[i]);
      let rhs = -gap * white.own[i];
      if (white.before[i] !== 0) {
        this.drift(rows, i - 1, white.before[i]);
        more(i - 1, white.before[i]);
        rhs -= rows.gap_m[i - 1] * white.before[i];
      }
      this.row(rhs, true);
    });
  }

  peg({ sample, x_m, y_m, peg, sigma_m }: Known): void {
    const { bias, session, pegs } = this.system;
    [x_m, y_m].forEach((value, axis) => {
      this.both(sample, 1 - axis, axis, 1 / sigma_m);
      this.add(bias + 2 * session[sample] + axis, 1 / sigma_m);
      this.add(pegs + 2 * peg + axis, 1 / sigma_m);
      this.row(value / sigma_m);
    });
  }

  /** Gauss-Markov steps per session in time order; the drift before is told along the way after. */
  steps({ sigma_m, tau_s }: Drift): void {
    const { s, n, session, cos, sin } = this.system;
    for (const first of [0, n]) {
      for (let i = 0; i < n; i++) {
        const linked = i > 0 && session[i] === session[i - 1];
        const keep = linked ? Math.exp(-Math.max(s.t_s[i] - s.t_s[i - 1], 0.2) / tau_s) : 0;
        const spread = sigma_m * Math.sqrt(Math.max(1 - keep * keep, 1e-9));
        this.add(first + i, 1 / spread);
        if (linked && first === 0) this.both(i - 1, cos[i], sin[i], -keep / spread);
        else if (linked) this.both(i - 1, -sin[i], cos[i], -keep / spread);
        this.row(0);
      }
    }
  }

  /** Priors of everything that is not drift. */
  means(): void {
    const { bias, overlap, clearance, ends, slant, pegs, bump, bumps } = this.system;
    const prior = (column: number, middle: number, spread: number): void => {
      this.add(column, 1 / spread);
      this.row(middle / spread);
    };
    for (let c = bias; c < overlap; c++) prior(c, 0, BIAS_M);
    prior(overlap, ...OVERLAP_M);
    prior(clearance, ...CLEARANCE_M);
    for (let c = ends; c < slant; c++) prior(c, 0, END_MEAN_M);
    prior(slant, ...SLANT);
    for (let c = pegs; c < bump; c++) prior(c, 0, ANYWHERE_M);
    bumps.forEach(({ mean_m, spread_m }, k) => prior(bump + k, mean_m, spread_m));
  }
}

/** What turns a Gauss-Markov misfit into unit white noise: own[i]·row i + before[i]·row i − 1. */
export interface Whitening {
  readonly own: Floats;
  readonly before: Floats;
}

export function whitening(chain: Ints, t_s: Floats, spread_m: number): Whitening {
  const [own, before] = [new Float64Array(chain.length), new Float64Array(chain.length)];
  for (let i = 0; i < chain.length; i++) {
    const linked = i > 0 && chain[i] === chain[i - 1];
    const apart = linked ? Math.max(Math.abs(t_s[i] - t_s[i - 1]), 0.5) : 0;
    const keep = linked ? Math.exp(-apart / STEER_S) : 0;
    own[i] = 1 / (spread_m * Math.sqrt(1 - keep * keep));
    before[i] = -keep * own[i];
  }
  return { own, before };
}
