// The Cholesky factor of a sparse normal matrix AᵀWA, front by front, and solutions with it.
import { factorFront } from "./dense";
import type { Front, Plan } from "./fronts";
import type { Sparse } from "./sparse";
import type { Floats } from "./words";

/** So many right-hand sides are carried through the factor at once. */
const LANES = 4;

/** A factored system N = AᵀWA. */
export class Factor {
  private readonly plan: Plan;
  /** Own columns of each front, by rows, one front after another. */
  private readonly lower: Floats;
  private readonly starts: number[];

  /** Factor AᵀWA with W the rows' weights; A must have the shape that the plan is for. */
  constructor(plan: Plan, a: Sparse, weight: Floats) {
    this.plan = plan;
    this.starts = [0];
    let [largest, waiting, most] = [0, 0, 0];
    for (const { rows, own, stride, kids } of plan.fronts) {
      this.starts.push(this.starts[this.starts.length - 1] + rows.length * own);
      largest = Math.max(largest, (rows.length + 3) * stride);
      for (const kid of kids) waiting -= triangle(plan.fronts[kid]);
      waiting += triangle(plan.fronts[this.starts.length - 2]);
      most = Math.max(most, waiting);
    }
    this.lower = new Float64Array(this.starts[plan.fronts.length]);
    this.eliminate(normalSums(plan, a, weight), new Float64Array(largest), new Float64Array(most));
  }

  /** Solve N x = b for each right-hand side. */
  solve(rhs: readonly Floats[]): Floats[] {
    const { position } = this.plan;
    const out: Floats[] = [];
    for (let from = 0; from < rhs.length; from += LANES) {
      const lanes = this.spread(rhs, from);
      this.forward(lanes);
      this.backward(lanes);
      for (let l = 0; l < LANES && from + l < rhs.length; l++) {
        const x = new Float64Array(position.length);
        for (let u = 0; u < x.length; u++) x[u] = lanes[LANES * position[u] + l];
        out.push(x);
      }
    }
    return out;
  }

  /** bᵀN⁻¹b of each right-hand side, for half the work of a solution. */
  squares(rhs: readonly Floats[]): Floats {
    const out = new Float64Array(rhs.length);
    for (let from = 0; from < rhs.length; from += LANES) {
      const lanes = this.spread(rhs, from);
      this.forward(lanes);
      for (let l = 0; l < LANES && from + l < rhs.length; l++) {
        for (let i = l; i < lanes.length; i += LANES) out[from + l] += lanes[i] * lanes[i];
      }
    }
    return out;
  }

  private eliminate(sums: Floats, block: Floats, stack: Floats): void {
    const { fronts } = this.plan;
    let top = 0;
    fronts.forEach((front, number) => {
      const { rows, own, stride, spot, sum, kids } = front;
      block.fill(0, 0, (rows.length + 3) * stride);
      for (let k = 0; k < spot.length; k++) block[spot[k]] += sums[sum + k];
      for (let k = kids.length - 1; k >= 0; k--) {
        top -= triangle(fronts[kids[k]]);
        addChild(block, stride, stack, top, fronts[kids[k]]);
      }
      factorFront(block, rows.length, own, stride);
      let to = this.starts[number];
      for (let i = 0; i < rows.length; i++) {
        for (let j = 0; j < own; j++) this.lower[to++] = block[i * stride + j];
      }
      for (let i = own; i < rows.length; i++) {
        for (let j = own; j <= i; j++) stack[top++] = block[i * stride + j];
      }
    });
  }

  /** Up to four right-hand sides side by side, in the order of elimination. */
  private spread(rhs: readonly Floats[], from: number): Floats {
    const { position } = this.plan;
    const lanes = new Float64Array(LANES * position.length);
    for (let l = 0; l < LANES && from + l < rhs.length; l++) {
      const b = rhs[from + l];
      for (let u = 0; u < b.length; u++) lanes[LANES * position[u] + l] = b[u];
    }
    return lanes;
  }

  /** L y = b in place. */
  private forward(x: Floats): void {
    this.plan.fronts.forEach((front, number) => {
      const from = LANES * front.first;
      if (isNought(x, from, from + LANES * front.own)) return;
      forwardOwn(this.lower, this.starts[number], front, x);
      forwardRest(this.lower, this.starts[number], front, x);
    });
  }

  /** Lᵀ x = y in place. */
  private backward(x: Floats): void {
    const { fronts } = this.plan;
    for (let f = fronts.length - 1; f >= 0; f--) backwardFront(this.lower, this.starts[f], fronts[f], x);
  }
}

/** The front's own unknowns of L y = b. */
function forwardOwn(lower: Floats, start: number, { first, own }: Front, x: Floats): void {
  for (let i = 0; i < own; i++) {
    const at = start + i * own;
    const to = LANES * (first + i);
    let [s0, s1, s2, s3] = [x[to], x[to + 1], x[to + 2], x[to + 3]];
    for (let k = 0, y = LANES * first; k < i; k++, y += LANES) {
      const l = lower[at + k];
      s0 -= l * x[y];
      s1 -= l * x[y + 1];
      s2 -= l * x[y + 2];
      s3 -= l * x[y + 3];
    }
    const by = 1 / lower[at + i];
    x[to] = s0 * by;
    x[to + 1] = s1 * by;
    x[to + 2] = s2 * by;
    x[to + 3] = s3 * by;
  }
}

/** What the front's own unknowns take from the right-hand sides of its later rows. */
function forwardRest(lower: Floats, start: number, front: Front, x: Floats): void {
  const { first, own, rows } = front;
  for (let i = own, at = start + own * own; i < rows.length; i++, at += own) {
    let [s0, s1, s2, s3] = [0, 0, 0, 0];
    for (let k = 0, y = LANES * first; k < own; k++, y += LANES) {
      const l = lower[at + k];
      s0 += l * x[y];
      s1 += l * x[y + 1];
      s2 += l * x[y + 2];
      s3 += l * x[y + 3];
    }
    const to = LANES * rows[i];
    x[to] -= s0;
    x[to + 1] -= s1;
    x[to + 2] -= s2;
    x[to + 3] -= s3;
  }
}

/** The front's own unknowns of Lᵀ x = y; its later rows are solved already. */
function backwardFront(lower: Floats, start: number, front: Front, x: Floats): void {
  const { first, own, rows } = front;
  for (let i = rows.length - 1; i >= 0; i--) {
    const at = start + i * own;
    const of = LANES * rows[i];
    if (i < own) {
      const by = 1 / lower[at + i];
      for (let l = 0; l < LANES; l++) x[of + l] *= by;
    }
    const [x0, x1, x2, x3] = [x[of], x[of + 1], x[of + 2], x[of + 3]];
    const end = i < own ? i : own;
    for (let k = 0, y = LANES * first; k < end; k++, y += LANES) {
      const l = lower[at + k];
      x[y] -= l * x0;
      x[y + 1] -= l * x1;
      x[y + 2] -= l * x2;
      x[y + 3] -= l * x3;
    }
  }
}

/** Entries of what a front leaves to its parent. */
function triangle({ rows, own }: Front): number {
  const left = rows.length - own;
  return (left * (left + 1)) / 2;
}

function isNought(x: Floats, from: number, to: number): boolean {
  for (let i = from; i < to; i++) if (x[i] !== 0) return false;
  return true;
}

/** What a child left is added where its rows stand in its parent. */
function addChild(block: Floats, stride: number, left: Floats, from: number, child: Front): void {
  const { up } = child;
  let at = from;
  for (let i = 0; i < up.length; i++) {
    const row = up[i] * stride;
    for (let j = 0; j <= i; j++) block[row + up[j]] += left[at++];
  }
}

/** The entries of AᵀWA, each once. */
function normalSums(plan: Plan, a: Sparse, weight: Floats): Floats {
  const { pair } = plan;
  const { value, start } = a;
  const sums = new Float64Array(plan.sums);
  let at = 0;
  for (let r = 0; r < a.rows; r++) {
    for (let i = start[r]; i < start[r + 1]; i++) {
      const by = weight[r] * value[i];
      for (let j = start[r]; j <= i; j++) sums[pair[at++]] += by * value[j];
    }
  }
  return sums;
}
