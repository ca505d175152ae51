import { Chance } from "../../../web/src/core/chance";
import { dissect, meeting, mended } from "../../../web/src/core/dissect";
import { UnsownError } from "../../../web/src/core/errors";
import { Factor } from "../../../web/src/core/factor";
import { type Plan, planned } from "../../../web/src/core/fronts";
import { Writer, times, transposedTimes } from "../../../web/src/core/sparse";
import { type Scattered, eliminated, grid, normal, scattered } from "./systems";

function planOf({ matrix, point, x, y }: Scattered): Plan {
  return planned(matrix, point, dissect(meeting(matrix, point, x.length), x, y));
}

const weights = (chance: Chance, count: number): Float64Array =>
  Float64Array.from({ length: count }, () => 0.05 + chance.uniform());

function largest(a: ArrayLike<number>): number {
  return Array.from(a).reduce((most, v) => Math.max(most, Math.abs(v)), 0);
}

const apart = (a: ArrayLike<number>, b: ArrayLike<number>): number =>
  largest(Array.from(a, (v, i) => v - (b[i] ?? Number.NaN)));

describe("the sparse factor", () => {
  it("solves random systems as dense elimination does", () => {
    for (let seed = 1; seed <= 120; seed++) {
      const chance = new Chance(seed);
      const made = scattered(chance, seed % 50, 1 + ((13 * seed) % 60));
      const weight = weights(chance, made.matrix.rows);
      const rhs = chance.normals(made.matrix.columns);
      const x = new Factor(planOf(made), made.matrix, weight).solve(rhs);
      const want = eliminated(normal(made.matrix, weight), rhs);
      expect(apart(x, want)).toBeLessThan(1e-9 * Math.max(1, largest(want)));
    }
  });

  it("solves a grid with a mean in every row to the last digits", () => {
    const chance = new Chance(2);
    for (const [wide, high] of [
      [40, 33],
      [150, 3],
      [1, 200],
    ] as const) {
      const made = grid(chance, wide, high);
      const weight = weights(chance, made.matrix.rows);
      const want = chance.normals(made.matrix.columns);
      const fit = times(made.matrix, want).map((v, r) => v * (weight[r] ?? Number.NaN));
      const factor = new Factor(planOf(made), made.matrix, weight);
      const x = factor.solve(transposedTimes(made.matrix, fit));
      expect(apart(x, want)).toBeLessThan(1e-9);
    }
  });

  it("needs far less than a dense factor on a grid", () => {
    const { fronts, position } = planOf(grid(new Chance(1), 60, 60));
    const entries = fronts.reduce((sum, { rows, own }) => sum + rows.length * own, 0);
    expect(entries).toBeLessThan(position.length ** 2 / 2 / 20);
  });

  it("draws about the solution, as widely as the inverse says", () => {
    const chance = new Chance(8);
    const made = scattered(chance, 12, 9);
    const weight = weights(chance, made.matrix.rows);
    const factor = new Factor(planOf(made), made.matrix, weight);
    const rhs = chance.normals(made.matrix.columns);
    const full = normal(made.matrix, weight);
    const count = 40_001;
    const draws = factor.draws(rhs, count, chance);
    expect(draws.length).toBe(count);
    factor.solve(rhs).forEach((middle, u) => {
      const spread = eliminated(full, full.map((_, v) => (v === u ? 1 : 0)))[u] ?? Number.NaN;
      const off = draws.map((x) => (x[u] ?? Number.NaN) - middle);
      const [mean, square] = [off, off.map((v) => v * v)].map((all) => all.reduce((a, b) => a + b, 0) / count);
      // five times the spread of such means
      expect(Math.abs(mean ?? Number.NaN)).toBeLessThan(5 * Math.sqrt(spread / count));
      expect(Math.abs((square ?? Number.NaN) - spread)).toBeLessThan(5 * spread * Math.sqrt(2 / count));
    });
  });

  it("gives bᵀN⁻¹b, for full and for nearly empty right-hand sides", () => {
    const chance = new Chance(4);
    const made = grid(chance, 11, 8);
    const factor = new Factor(planOf(made), made.matrix, weights(chance, made.matrix.rows));
    const rhs = [0, 1, 2, 3, 4, 5].map((k) => {
      const b =
        k % 2 === 0 ? chance.normals(made.matrix.columns) : new Float64Array(made.matrix.columns);
      b[7 * k] = 1;
      return b;
    });
    const want = rhs.map((b) => {
      const x = factor.solve(b);
      return b.reduce((sum, v, i) => sum + v * (x[i] ?? Number.NaN), 0);
    });
    // what stands twice in one place is summed
    const few = rhs.map((b) => {
      const at = Array.from(b.keys()).filter((i) => b[i] !== 0);
      return { at: [...at, ...at], value: [...at, ...at].map((i) => (b[i] ?? Number.NaN) / 2) };
    });
    expect(apart(factor.squares(few), want)).toBeLessThan(1e-9 * largest(want));
  });

  it("takes over the memory of a spent factor and is none the worse", () => {
    const chance = new Chance(6);
    const [large, small] = [grid(chance, 12, 12), grid(chance, 5, 4)];
    for (const [first, then] of [
      [large, small],
      [small, large],
      [large, large],
    ] as const) {
      const spent = new Factor(planOf(first), first.matrix, weights(chance, first.matrix.rows));
      const weight = weights(chance, then.matrix.rows);
      const rhs = chance.normals(then.matrix.columns);
      const fresh = new Factor(planOf(then), then.matrix, weight).solve(rhs);
      const reused = new Factor(planOf(then), then.matrix, weight, spent).solve(rhs);
      expect(reused).toEqual(fresh);
    }
  });

  it("says so where a system has no one solution", () => {
    const to = new Writer(3);
    to.add(0, 1);
    to.add(1, -1);
    to.end();
    to.add(2, 1);
    to.end();
    const point = Int32Array.of(0, 1, -1);
    const [x, y] = [Float64Array.of(0, 1), Float64Array.of(0, 0)];
    const plan = planOf({ matrix: to.matrix(), point, x, y });
    const one = new Float64Array(2).fill(1);
    expect(() => new Factor(plan, to.matrix(), one)).toThrow(UnsownError);
    expect(() => new Factor(plan, to.matrix(), one)).toThrow(/positive definite/);
    const lost = () => new Factor(plan, to.matrix(), Float64Array.of(1, Number.NaN));
    expect(lost).toThrow(/positive definite/);
  });
});

describe("a dissection", () => {
  it("holds every point once, and no two parts that it parts meet", () => {
    for (let seed = 1; seed <= 40; seed++) {
      const chance = new Chance(seed);
      const made = seed % 2 === 0 ? scattered(chance, 60, 80) : grid(chance, 3 + seed, 7);
      const meets = meeting(made.matrix, made.point, made.x.length);
      const parts = dissect(meets, made.x, made.y);
      const all = parts.flatMap((part) => Array.from(part.own)).toSorted((a, b) => a - b);
      expect(all).toEqual(Array.from(made.x, (_, p) => p));
      const under = (number: number): number[] => [
        ...Array.from(parts[number]?.own ?? []),
        ...(parts[number]?.kids ?? []).flatMap(under),
      ];
      for (const { kids } of parts) {
        const [one, two] = [new Set(under(kids[0] ?? -1)), new Set(under(kids[1] ?? -1))];
        for (const p of one) {
          for (let k = meets.start[p] ?? 0; k < (meets.start[p + 1] ?? 0); k++) {
            expect(two.has(meets.other[k] ?? -1)).toBe(false);
          }
        }
      }
    }
  });

  it("cuts between lines of one coordinate, not through them", () => {
    const made = grid(new Chance(1), 31, 40);
    const meets = meeting(made.matrix, made.point, made.x.length);
    const root = dissect(meets, made.x, made.y).pop();
    expect(new Set(Array.from(root?.own ?? [], (p) => made.y[p])).size).toBe(1);
    expect(root?.own.length).toBe(31);
  });

  it("manages where all points stand in one place", () => {
    const made = grid(new Chance(1), 8, 8);
    const meets = meeting(made.matrix, made.point, made.x.length);
    const zero = new Float64Array(made.x.length);
    const parts = dissect(meets, zero, zero);
    expect(parts.reduce((sum, part) => sum + part.own.length, 0)).toBe(64);
  });

  it("is mended for points that meet others: it still solves, and parts what does not meet", () => {
    let [mend, none] = [0, 0];
    for (let seed = 1; seed <= 12; seed++) {
      const chance = new Chance(seed);
      const made = grid(chance, 61, 40);
      const count = made.x.length;
      const parts = dissect(meeting(made.matrix, made.point, count), made.x, made.y);
      // some points change places: all that each meets is elsewhere
      const point = made.point.slice();
      for (let k = seed % 4 === 0 ? 40 : seed % 4; k > 0; k--) {
        const [p, q] = [chance.uniform(), chance.uniform()].map((part) => Math.floor(part * count)) as [number, number];
        made.point.forEach((at, u) => at === p && (point[u] = q));
        made.point.forEach((at, u) => at === q && (point[u] = p));
      }
      const again = mended(parts, meeting(made.matrix, point, count));
      if (again === null) {
        none += 1;
        continue;
      }
      mend += 1;
      expect(again.map(({ kids }) => kids)).toEqual(parts.map(({ kids }) => kids));
      expect(again.flatMap(({ own }) => Array.from(own)).toSorted((a, b) => a - b)).toEqual(Array.from(made.x, (_, p) => p));
      const weight = weights(chance, made.matrix.rows);
      const want = chance.normals(made.matrix.columns);
      const fit = times(made.matrix, want).map((v, r) => v * (weight[r] ?? Number.NaN));
      const x = new Factor(planned(made.matrix, point, again), made.matrix, weight).solve(transposedTimes(made.matrix, fit));
      expect(apart(x, want)).toBeLessThan(1e-9);
    }
    expect([mend, none]).toEqual([9, 3]);
  });
});
