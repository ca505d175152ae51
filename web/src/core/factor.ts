// The Cholesky factor of a sparse normal matrix AᵀWA, front by front, and solutions with it.
import type { Chance } from "./chance";
import { factorFront } from "./dense";
import type { Front, Plan } from "./fronts";
import type { Sparse } from "./sparse";
import type { Floats } from "./words";

/** So many right-hand sides are carried through the factor at once. */
const LANES = 4;

/** A right-hand side of few entries: what in one place stands twice is summed. */
export interface Few {
  readonly at: readonly number[];
  readonly value: readonly number[];
}

/** A factored system N = AᵀWA. */
export class Factor {
  private readonly plan: Plan;
  /** Own columns of each front, by rows, one front after another. */
  private readonly lower: Floats;
  private readonly starts: number[];
  /** Where the dense blocks were worked on. */
  private readonly blocks: Floats;

  /**
   * Factor AᵀWA with W the rows' weights; A must have the shape that the plan is for. The memory of
   * a `spent` factor, which can solve no more, is used again: it is most of what a factor costs an
   * old phone.
   */
  constructor(plan: Plan, a: Sparse, weight: Floats, spent: Factor | null = null) {
    this.plan = plan;
    this.starts = [0];
    plan.fronts.forEach(({ rows, own }, f) => {
      this.starts.push(this.starts[f] + rows.length * own);
    });
    const root = plan.fronts.length - 1;
    this.lower = ofLength(this.starts[root + 1], spent?.lower);
    this.blocks = ofLength(room(plan, root), spent?.blocks);
    this.eliminate(root, a, weight, 0);
  }

  /** Solve N x = b. */
  solve(b: Floats): Floats {
    return this.backward(this.half(b), 1)[0];
  }

  /**
   * So many draws of x with mean N⁻¹b and covariance N⁻¹: with N = LLᵀ, L⁻ᵀ(L⁻¹b + z) of unit normal
   * z has both.
   */
  draws(b: Floats, count: number, chance: Chance): Floats[] {
    const out: Floats[] = [];
    const mean = this.half(b);
    for (let from = 0; from < count; from += LANES) {
      const many = Math.min(LANES, count - from);
      const lanes = mean.slice();
      for (let i = 0; i < mean.length; i += LANES) {
        for (let l = 0; l < many; l++) lanes[i + l] = mean[i] + chance.normal();
      }
      out.push(...this.backward(lanes, many));
    }
    return out;
  }

  /**
   * bᵀN⁻¹b of each right-hand side, for half the work of a solution: less where those that follow each other
   * begin in the same fronts, for only what these hang from is gone through.
   */
  squares(rhs: readonly Few[]): Floats {
    const out = new Float64Array(rhs.length);
    const { position, fronts } = this.plan;
    const lanes = new Float64Array(LANES * position.length);
    const frontAt = new Int32Array(position.length);
    fronts.forEach(({ first, own }, f) => frontAt.fill(f, first, first + own));
    const met = new Uint8Array(fronts.length);
    for (let from = 0; from < rhs.length; from += LANES) {
      const many = Math.min(LANES, rhs.length - from);
      for (let l = 0; l < many; l++) {
        const { at, value } = rhs[from + l];
        for (let k = 0; k < at.length; k++) {
          const p = position[at[k]];
          lanes[LANES * p + l] += value[k];
          met[frontAt[p]] = 1;
        }
      }
      for (let f = 0; f < fronts.length; f++) {
        if (met[f] === 0) continue;
        met[f] = 0;
        const { first, own, rows } = fronts[f];
        forwardOwn(this.lower, this.starts[f], fronts[f], lanes);
        forwardRest(this.lower, this.starts[f], fronts[f], lanes);
        if (own < rows.length) met[frontAt[rows[own]]] = 1;
        for (let i = LANES * first, l = 0; i < LANES * (first + own); i++, l = (l + 1) % LANES) {
          if (l < many) out[from + l] += lanes[i] * lanes[i];
          lanes[i] = 0;
        }
      }
    }
    return out;
  }

  /** y of L y = b in the first lane, in the order of elimination. */
  private half(b: Floats): Floats {
    const lanes = new Float64Array(LANES * b.length);
    for (let u = 0; u < b.length; u++) lanes[LANES * this.plan.position[u]] = b[u];
    this.forward(lanes);
    return lanes;
  }

  /** Right-hand sides b become y of L y = b. */
  private forward(lanes: Floats): void {
    this.plan.fronts.forEach((front, f) => {
      forwardOwn(this.lower, this.starts[f], front, lanes);
      forwardRest(this.lower, this.starts[f], front, lanes);
    });
  }

  /** x of Lᵀ x = y in so many lanes, which are used up, in the order of the unknowns. */
  private backward(lanes: Floats, many: number): Floats[] {
    const { fronts, position } = this.plan;
    for (let f = fronts.length - 1; f >= 0; f--) backwardFront(this.lower, this.starts[f], fronts[f], lanes);
    return Array.from({ length: many }, (_, l) => new Float64Array(position.length).map((_x, u) => lanes[LANES * position[u] + l]));
  }

  /** Factor a front, and before it what hangs from it; their blocks stand one behind another. */
  private eliminate(number: number, a: Sparse, weight: Floats, at: number): void {
    const { fronts } = this.plan;
    const { rows, own, stride, kids } = fronts[number];
    const end = at + blockSize(fronts[number]);
    const block = this.blocks.subarray(at, end);
    block.fill(0);
    addRows(block, this.plan, fronts[number], a, weight);
    for (const kid of kids) {
      this.eliminate(kid, a, weight, end);
      addChild(block, stride, this.blocks.subarray(end), fronts[kid]);
    }
    factorFront(block, rows.length, own, stride);
    for (let i = 0, to = this.starts[number]; i < rows.length; i++, to += own) {
      const from = i * stride;
      for (let j = 0; j < own; j++) this.lower[to + j] = block[from + j];
    }
  }
}

/** The front's own unknowns of L y = b. */
function forwardOwn(lower: Floats, start: number, { first, own }: Front, x: Floats): void {
  for (let i = 0; i < own; i++) {
    const at = start + i * own;
    const to = LANES * (first + i);
    let s0 = x[to];
    let s1 = x[to + 1];
    let s2 = x[to + 2];
    let s3 = x[to + 3];
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

/**
 * What the front's own unknowns take from the right-hand sides of its later rows, two at a time.
 */
function forwardRest(lower: Floats, start: number, front: Front, x: Floats): void {
  const { first, own, rows } = front;
  for (let i = own; i < rows.length; i += 2) {
    // of an odd number the last is taken with itself, and counted once
    const odd = i + 1 === rows.length;
    const at = start + i * own;
    const next = odd ? at : at + own;
    let s0 = 0;
    let s1 = 0;
    let s2 = 0;
    let s3 = 0;
    let t0 = 0;
    let t1 = 0;
    let t2 = 0;
    let t3 = 0;
    for (let k = 0, y = LANES * first; k < own; k++, y += LANES) {
      const l = lower[at + k];
      const m = lower[next + k];
      const x0 = x[y];
      const x1 = x[y + 1];
      const x2 = x[y + 2];
      const x3 = x[y + 3];
      s0 += l * x0;
      s1 += l * x1;
      s2 += l * x2;
      s3 += l * x3;
      t0 += m * x0;
      t1 += m * x1;
      t2 += m * x2;
      t3 += m * x3;
    }
    takeFrom(x, LANES * rows[i], s0, s1, s2, s3);
    if (!odd) takeFrom(x, LANES * rows[i + 1], t0, t1, t2, t3);
  }
}

function takeFrom(x: Floats, to: number, s0: number, s1: number, s2: number, s3: number): void {
  x[to] -= s0;
  x[to + 1] -= s1;
  x[to + 2] -= s2;
  x[to + 3] -= s3;
}

/** The front's own unknowns of Lᵀ x = y; its later rows are solved already. */
function backwardFront(lower: Floats, start: number, front: Front, x: Floats): void {
  const { first, own, rows } = front;
  let i = rows.length - 1;
  for (; i > own; i -= 2)
    backwardTwo(lower, start + i * own, own, x, LANES * first, rows[i], rows[i - 1]);
  for (; i >= 0; i--) {
    const at = start + i * own;
    const of = LANES * rows[i];
    if (i < own) {
      const by = 1 / lower[at + i];
      for (let l = 0; l < LANES; l++) x[of + l] *= by;
    }
    const x0 = x[of];
    const x1 = x[of + 1];
    const x2 = x[of + 2];
    const x3 = x[of + 3];
    const end = i < own ? i : own;
    for (let k = 0, y = LANES * first; k < end; k++, y += LANES) {
      const l = lower[at + k];
      takeFrom(x, y, l * x0, l * x1, l * x2, l * x3);
    }
  }
}

/** Take two later rows, the second just before the first, out of the own unknowns from `to` on. */
function backwardTwo(
  lower: Floats,
  at: number,
  own: number,
  x: Floats,
  to: number,
  row: number,
  before: number,
): void {
  const of = LANES * row;
  const x0 = x[of];
  const x1 = x[of + 1];
  const x2 = x[of + 2];
  const x3 = x[of + 3];
  const from = LANES * before;
  const z0 = x[from];
  const z1 = x[from + 1];
  const z2 = x[from + 2];
  const z3 = x[from + 3];
  for (let k = 0, y = to; k < own; k++, y += LANES) {
    const l = lower[at + k];
    const m = lower[at - own + k];
    x[y] -= l * x0 + m * z0;
    x[y + 1] -= l * x1 + m * z1;
    x[y + 2] -= l * x2 + m * z2;
    x[y + 3] -= l * x3 + m * z3;
  }
}

function ofLength(length: number, used: Floats | undefined): Floats {
  return used !== undefined && used.length >= length ? used : new Float64Array(length);
}

/** Numbers in the dense block of a front, with three rows to spare. */
function blockSize({ rows, stride }: Front): number {
  return (rows.length + 3) * stride;
}

/**
 * Numbers in the block of a front and in the blocks of what hangs from it, as far as held at once.
 */
function room(plan: Plan, number: number): number {
  const below = plan.fronts[number].kids.map((kid) => room(plan, kid));
  return blockSize(plan.fronts[number]) + Math.max(0, ...below);
}

/** What is left in the block of a child is added where its rows stand in its parent. */
function addChild(block: Floats, stride: number, left: Floats, child: Front): void {
  const { up, own } = child;
  for (let i = 0; i < up.length; i++) {
    const to = up[i] * stride;
    const from = (own + i) * child.stride + own;
    for (let j = 0; j <= i; j++) block[to + up[j]] += left[from + j];
  }
}

/** The products of the rows of A that begin in a front are added where they stand in its block. */
function addRows(block: Floats, plan: Plan, front: Front, a: Sparse, weight: Floats): void {
  const { row, entry, spot } = plan;
  const { start, value } = a;
  const { from, to, stride } = front;
  for (let k = from; k < to; k++) {
    const r = row[k];
    const first = start[r];
    for (let i = first, end = start[r + 1]; i < end; i++) {
      const by = weight[r] * value[entry[i]];
      const at = spot[i] * stride;
      for (let j = first; j <= i; j++) block[at + spot[j]] += by * value[entry[j]];
    }
  }
}
