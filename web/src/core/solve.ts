// The drift at every sample as one least-squares problem, and draws from its posterior.
//
// Re-weighting (Student's t) takes the pull out of lost furrows, wanders and real misses. The
// normal matrix is the inverse of the posterior covariance, and its factor makes the draws. The log
// is never changed; the picture is moved by −B.
import type { Chance } from "./chance";
import { type Meets, type Part, dissect, meeting, mended } from "./dissect";
import { Factor } from "./factor";
import { planned } from "./fronts";
import type { Plan } from "./fronts";
import type { Samples } from "./samples";
import { sameShape, times, transposedTimes } from "./sparse";
import type { Sparse } from "./sparse";
import type { Rows, System } from "./system";
import type { Floats } from "./words";

const NU = 4;
/** What runs at a smaller sine to a direction runs along it. */
const LEVEL = 0.35;

/** Factors systems of one day's telling: what is told once of who meets whom serves all of them. */
export class Solver {
  plan: Plan | null;
  private readonly before: Plan | null;
  private spent: Factor | null;

  /** `plan` of another solver of the same telling; dissection and memory of one `before`, which is done. */
  constructor(plan: Plan | null = null, before: Solver | null = null) {
    this.plan = plan;
    this.before = before && before.plan;
    this.spent = before && before.spent;
  }

  /**
   * Factor the normal matrix of a system's rows with these weights, in the memory of the factor
   * given before, which can solve no more.
   */
  factor(system: System, matrix: Sparse, weight: Floats): Factor {
    let { plan } = this;
    if (plan === null || !sameShape(plan.shape, matrix)) {
      const count = 2 * system.n;
      // an unknown of the drift is a point of its own: the two of a sample seldom meet the same others
      const point = new Int32Array(system.size).map((_, u) => (u < count ? u : -1));
      plan = planned(matrix, point, plan?.parts ?? this.dissected(system, meeting(matrix, point, count)));
      this.plan = plan;
    }
    this.spent = new Factor(plan, matrix, weight, this.spent);
    return this.spent;
  }

  /** Pairs told anew in a better picture are most of them the same. */
  private dissected(system: System, meets: Meets): Part[] {
    return (this.before && mended(this.before.parts, meets)) ?? dissect(meets, ...alongRuns(system));
  }
}

/**
 * Places of the unknowns of the drift along and across the direction most samples were driven in.
 * What runs straight along one of the two shares one place across it, so that a cut goes between
 * runs, not through them.
 */
function alongRuns({ s }: System): [Floats, Floats] {
  const double = (of: (a: number) => number): number =>
    s.heading_rad.reduce((sum, heading) => sum + of(2 * heading), 0);
  const main = Math.atan2(double(Math.sin), double(Math.cos)) / 2;
  const [c, n] = [Math.cos(main), Math.sin(main)];
  const twice = (values: Floats, slope: (heading: number) => number): Floats => {
    const one = levelled(s, values, slope);
    const out = new Float64Array(2 * one.length);
    out.set(one);
    out.set(one, one.length);
    return out;
  };
  return [
    twice(
      s.x_m.map((x, i) => c * x + n * s.y_m[i]),
      (h) => Math.abs(Math.cos(h - main)),
    ),
    twice(
      s.y_m.map((y, i) => c * y - n * s.x_m[i]),
      (h) => Math.abs(Math.sin(h - main)),
    ),
  ];
}

/** The mean in place of each straight's own values: samples of a stretch whose slope is small. */
function levelled(s: Samples, values: Floats, slope: (heading: number) => number): Floats {
  const out = values.slice();
  for (let from = 0; from < out.length; from++) {
    let to = from;
    let sum = 0;
    while (s.stretch[to] === s.stretch[from] && slope(s.heading_rad[to]) < LEVEL)
      sum += values[to++];
    if (to > from) out.fill(sum / (to - from), from, to);
    from = Math.max(from, to - 1);
  }
  return out;
}

/**
 * A solution: the unknowns, the rows' weights, and the factored normal equations with just these
 * weights: the unknowns are their exact solution.
 */
export interface Solved {
  readonly x: Floats;
  readonly weight: Floats;
  readonly factor: Factor;
}

/** Re-weighted least squares in so many rounds, from the given weights of the first rows on. */
export function solve(
  solver: Solver,
  system: System,
  { matrix, rhs, robust }: Rows,
  rounds: number,
  before: Floats = new Float64Array(0),
): Solved {
  let weight = weighted(rhs.length, before);
  for (let round = 1; ; round++) {
    const factor = solver.factor(system, matrix, weight);
    const x = factor.solve(pulls(matrix, rhs, weight));
    if (round === rounds) return { x, weight, factor };
    const fit = times(matrix, x);
    weight = weight.slice();
    for (let i = 0; i < robust; i++) weight[i] = (NU + 1) / (NU + (fit[i] - rhs[i]) ** 2);
  }
}

/** Weights of so many rows: those given of the first, 1 of all others. */
export function weighted(rows: number, first: Floats): Floats {
  const out = new Float64Array(rows).fill(1);
  out.set(first);
  return out;
}

/** AᵀWy. */
function pulls(matrix: Sparse, rhs: Floats, weight: Floats): Floats {
  const y = rhs.slice();
  for (let i = 0; i < y.length; i++) y[i] *= weight[i];
  return transposedTimes(matrix, y);
}

/** Draws of the unknowns from the posterior. */
export function draw(
  factor: Factor,
  { matrix, rhs }: Rows,
  weight: Floats,
  count: number,
  chance: Chance,
): Floats[] {
  return factor.draws(pulls(matrix, rhs, weight), count, chance);
}
