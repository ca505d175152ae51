// The drift at every sample as one least-squares problem, and draws from its posterior.
//
// Re-weighting (Student's t) takes the pull out of lost furrows, wanders and real misses. The normal
// matrix is the inverse of the posterior covariance: a draw is one more solve with a perturbed
// right-hand side. The log is never changed; the picture is moved by −B.
import type { Chance } from "./chance";
import { dissect } from "./dissect";
import type { Part } from "./dissect";
import { Factor } from "./factor";
import { meeting, planned } from "./fronts";
import type { Plan } from "./fronts";
import { sameShape, times, transposedTimes } from "./sparse";
import type { Sparse } from "./sparse";
import type { Rows, System } from "./system";
import type { Floats, Ints } from "./words";

const NU = 4;

/** Factors systems of one day's telling: what is told once of who meets whom serves all of them. */
export class Solver {
  private parts: readonly Part[] | null = null;
  private plan: Plan | null = null;

  /** Factor the normal matrix of a system's rows with these weights. */
  factor(system: System, matrix: Sparse, weight: Floats): Factor {
    if (this.plan === null || !sameShape(this.plan.shape, matrix)) {
      const point = pointsOf(system);
      this.parts ??= dissect(meeting(matrix, point, system.n), ...alongRuns(system));
      this.plan = planned(matrix, point, this.parts);
    }
    return new Factor(this.plan, matrix, weight);
  }
}

/** The sample that each unknown stands at: −1 for biases, means and the like. */
function pointsOf({ n, size }: System): Ints {
  return Int32Array.from({ length: size }, (_, u) => (u < 2 * n ? u % n : -1));
}

/** Places of the samples along and across the direction most of them were driven in. */
function alongRuns({ s }: System): [Floats, Floats] {
  const double = (of: (a: number) => number): number =>
    s.heading_rad.reduce((sum, heading) => sum + of(2 * heading), 0);
  const main = Math.atan2(double(Math.sin), double(Math.cos)) / 2;
  const [c, n] = [Math.cos(main), Math.sin(main)];
  return [s.x_m.map((x, i) => c * x + n * s.y_m[i]), s.y_m.map((y, i) => c * y - n * s.x_m[i])];
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
  for (let round = 1; ; round++) {
    const factor = solver.factor(system, matrix, weight);
    const used = weight;
    const [x] = factor.solve([transposedTimes(matrix, rhs.map((y, i) => used[i] * y))]);
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
    transposedTimes(matrix, rhs.map((y, i) => weight[i] * y + Math.sqrt(weight[i]) * chance.normal()));
  return factor.solve(Array.from({ length: count }, pull));
}
