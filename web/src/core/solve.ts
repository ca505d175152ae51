// The drift at every sample as one least-squares problem, and draws from its posterior.
//
// Re-weighting (Student's t) takes the pull out of lost furrows, wanders and real misses. The
// normal matrix is the inverse of the posterior covariance: a draw is one more solve with a
// perturbed right-hand side. The log is never changed; the picture is moved by −B.
import type { Chance } from "./chance";
import { dissect, meeting } from "./dissect";
import type { Part } from "./dissect";
import { Factor } from "./factor";
import { planned } from "./fronts";
import type { Plan } from "./fronts";
import type { Samples } from "./samples";
import { sameShape, times, transposedTimes } from "./sparse";
import type { Sparse } from "./sparse";
import type { Rows, System } from "./system";
import type { Floats, Ints } from "./words";

const NU = 4;
/** What runs at a smaller sine to a direction runs along it. */
const LEVEL = 0.35;

/** Factors systems of one day's telling: what is told once of who meets whom serves all of them. */
export class Solver {
  private parts: readonly Part[] | null = null;
  private plan: Plan | null = null;

  /**
   * Factor the normal matrix of a system's rows with these weights, in the memory of a spent
   * factor.
   */
  factor(system: System, matrix: Sparse, weight: Floats, spent: Factor | null = null): Factor {
    if (this.plan === null || !sameShape(this.plan.shape, matrix)) {
      const point = pointsOf(system);
      this.parts ??= dissect(meeting(matrix, point, system.n), ...alongRuns(system));
      this.plan = planned(matrix, point, this.parts);
    }
    return new Factor(this.plan, matrix, weight, spent);
  }
}

/** The sample that each unknown stands at: −1 for biases, means and the like. */
function pointsOf({ n, size }: System): Ints {
  const out = new Int32Array(size).fill(-1);
  for (let u = 0; u < 2 * n; u++) out[u] = u % n;
  return out;
}

/**
 * Places of the samples along and across the direction most of them were driven in. What runs
 * straight along one of the two shares one place across it, so that a cut goes between runs, not
 * through them.
 */
function alongRuns({ s }: System): [Floats, Floats] {
  const double = (of: (a: number) => number): number =>
    s.heading_rad.reduce((sum, heading) => sum + of(2 * heading), 0);
  const main = Math.atan2(double(Math.sin), double(Math.cos)) / 2;
  const [c, n] = [Math.cos(main), Math.sin(main)];
  return [
    levelled(
      s,
      s.x_m.map((x, i) => c * x + n * s.y_m[i]),
      (h) => Math.abs(Math.cos(h - main)),
    ),
    levelled(
      s,
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
  rows: Rows,
  rounds: number,
  before: Floats = new Float64Array(0),
): Solved {
  const { matrix, rhs, robust } = rows;
  let weight = new Float64Array(rhs.length).fill(1);
  weight.set(before);
  let factor: Factor | null = null;
  for (let round = 1; ; round++) {
    factor = solver.factor(system, matrix, weight, factor);
    const used = weight;
    const [x] = factor.solve([
      transposedTimes(
        matrix,
        rhs.map((y, i) => used[i] * y),
      ),
    ]);
    if (round === rounds) return { x, weight, factor };
    const fit = times(matrix, x);
    weight = fit.map((value, i) => {
      const misfit = value - rhs[i];
      return robust[i] === 1 ? (NU + 1) / (NU + misfit * misfit) : 1;
    });
  }
}

/** Draws of the unknowns from the posterior. */
export function draw(
  factor: Factor,
  { matrix, rhs }: Rows,
  weight: Floats,
  count: number,
  chance: Chance,
): Floats[] {
  const pull = (): Floats =>
    transposedTimes(
      matrix,
      rhs.map((y, i) => weight[i] * y + Math.sqrt(weight[i]) * chance.normal()),
    );
  return factor.solve(Array.from({ length: count }, pull));
}
