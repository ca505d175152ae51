import { Chance } from "../../../web/src/core/chance";
import { type Gaps, noGaps, type Samples } from "../../../web/src/core/samples";
import { Solver, draw, solve } from "../../../web/src/core/solve";
import { System, type Told, assemble, whitening } from "../../../web/src/core/system";
import { eliminated, normal } from "./systems";

/** Two runs beside each other, five samples each, 10 s apart. */
const SAMPLES: Samples = {
  t_s: Float64Array.from({ length: 10 }, (_, i) => (i < 5 ? 10 * i : 100 + 10 * i)),
  x_m: Float64Array.from({ length: 10 }, (_, i) => (i < 5 ? 12 * i : 12 * (9 - i))),
  y_m: Float64Array.from({ length: 10 }, (_, i) => (i < 5 ? 0 : 9)),
  heading_rad: Float64Array.from({ length: 10 }, (_, i) => (i < 5 ? 0 : Math.PI)),
  run: Int32Array.from({ length: 10 }, (_, i) => (i < 5 ? 0 : 1)),
  stretch: Int32Array.from({ length: 10 }, (_, i) => (i < 5 ? 0 : 1)),
  leg: new Int32Array(10),
  width_m: new Float64Array(10).fill(9),
};

/** The seam between them, wider by `gap` than the furrow. */
function seam(gap: (row: number) => number): Gaps {
  const rows = [0, 1, 2, 3, 4];
  return {
    gap_m: Float64Array.from(rows, gap),
    who: Int32Array.from(rows.flatMap((k) => [5 + k, 4 - k, 4 - k])),
    east: new Float64Array(15),
    north: Float64Array.from(rows.flatMap(() => [-1, 1, 0])),
    chain: new Int32Array(5).fill(1),
    width_m: new Float64Array(5).fill(9),
  };
}

function toldOf(gaps: Gaps): Told {
  const drift = { sigma_m: 1, tau_s: 80, spread: [] };
  const ends = { gaps: noGaps(), starts: new Uint8Array(0) };
  return { drift, seam: gaps, fence: noGaps(), ends, pegs: [] };
}

describe("the drift's least squares", () => {
  it("has the whitening whose inverse is the covariance of a Gauss-Markov process", () => {
    const t = [0, 4, 11, 12, 30];
    const chain = Int32Array.of(1, 1, 1, 2, 2);
    const { own, before } = whitening(chain, Float64Array.from(t), 0.3);
    const cover = (i: number, j: number): number =>
      chain[i] === chain[j] ? 0.09 * Math.exp(-Math.abs((t[i] ?? 0) - (t[j] ?? 0)) / 25) : 0;
    for (let i = 0; i < 5; i++) {
      for (let j = 0; j < 5; j++) {
        // rows i and j of W C Wᵀ
        let sum = 0;
        for (const [p, a] of [
          [i, own[i]],
          [i - 1, before[i]],
        ] as const) {
          for (const [q, b] of [
            [j, own[j]],
            [j - 1, before[j]],
          ] as const) {
            if (p >= 0 && q >= 0) sum += (a ?? 0) * (b ?? 0) * cover(p, q);
          }
        }
        expect(sum).toBeCloseTo(i === j ? 1 : 0, 10);
      }
    }
  });

  it("explains a gap by moving both runs half of it, less what steering and overlap may be", () => {
    const system = new System(SAMPLES, []);
    const told = toldOf(seam(() => 1.7));
    const rows = assemble(system, told.drift, told, 0.22);
    const { x } = solve(new Solver(), system, rows, 1);
    const [, north] = system.driftOf(x);
    const between = (north[7] ?? Number.NaN) - (north[2] ?? Number.NaN);
    expect(between).toBeGreaterThan(1);
    expect(between).toBeLessThan(2);
    expect(x.every((v) => Number.isFinite(v))).toBe(true);
  });

  it("pulls less where one row of a seam is out of line with the others", () => {
    const system = new System(SAMPLES, []);
    const told = toldOf(seam((k) => (k === 2 ? 5 : 0)));
    const rows = assemble(system, told.drift, told, 0.22);
    const weight = solve(new Solver(), system, rows, 6).weight.subarray(0, 5);
    expect(weight[2]).toBeLessThan(0.3);
    expect(weight[0]).toBeGreaterThan(0.9);
  });

  it("draws with the covariance that is the inverse of the normal matrix, about the solution", () => {
    const system = new System(SAMPLES, []);
    const told = toldOf(seam((k) => 0.3 * k));
    const rows = assemble(system, told.drift, told, 0.22);
    const { x, weight, factor } = solve(new Solver(), system, rows, 2);
    const full = normal(rows.matrix, weight);
    const unit = (u: number): number[] => full.map((_, i) => (i === u ? 1 : 0));
    const cover = full.map((_, u) => eliminated(full, unit(u)));
    const count = 20_000;
    const draws = draw(factor, rows, weight, count, new Chance(11));
    const at = (u: number, v: number): number => cover[u]?.[v] ?? Number.NaN;
    for (const u of [0, 2, 7, 12, 17, system.bias + 1, system.overlap, system.ends]) {
      const off = (k: number, w: number): number => (draws[k]?.[w] ?? Number.NaN) - (x[w] ?? 0);
      for (const v of [0, 3, 13, 18, system.overlap]) {
        let [mean, product] = [0, 0];
        for (let k = 0; k < count; k++) {
          mean += off(k, u) / count;
          product += (off(k, u) * off(k, v)) / count;
        }
        const scale = Math.sqrt(at(u, u) * at(v, v));
        // five times the spread of such a mean
        expect(Math.abs(mean)).toBeLessThan((5 * Math.sqrt(at(u, u))) / Math.sqrt(count));
        expect(Math.abs(product - at(u, v))).toBeLessThan(
          (5 * Math.SQRT2 * scale) / Math.sqrt(count),
        );
      }
    }
  });
});
