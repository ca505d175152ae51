import { Chance } from "../../../web/src/core/chance";
import { STEER_M } from "../../../web/src/core/drift";
import { Weighing, candidates, likely, switched, worstChain } from "../../../web/src/core/missed";
import { noGaps, samples } from "../../../web/src/core/samples";
import { seams } from "../../../web/src/core/seams";
import { Solver, solve } from "../../../web/src/core/solve";
import { System, type Told, assemble } from "../../../web/src/core/system";
import { type Furrows, furrows } from "./furrows";

/** A day's seams as they were driven, with the phone's drift taken for small. */
function weighed(say: Partial<Furrows>): {
  weighing: Weighing;
  runsOf: (from: number) => number[];
} {
  const { stretches } = furrows({ runs: 12, sigma_m: 0.2, tau_s: 100, ...say });
  const s = samples(stretches);
  const seam = seams(s, s.x_m, s.y_m, 0.45);
  const drift = { sigma_m: 0.3, tau_s: 100, spread: [] };
  const ends = { gaps: noGaps(), starts: new Uint8Array(0) };
  const told: Told = { drift, seam, fence: noGaps(), ends, pegs: [] };
  const system = new System(s, []);
  const rows = assemble(system, drift, told, STEER_M);
  const solved = solve(new Solver(), system, rows, 4);
  const runsOf = (from: number): number[] =>
    [0, 1].map((k) => s.run[seam.who[3 * from + k] ?? -1] ?? -1);
  return { weighing: new Weighing(s, seam, rows, solved, STEER_M), runsOf };
}

describe("departures from the furrow", () => {
  it("are weighed as solving with their column does", () => {
    const { weighing } = weighed({ seed: 3 });
    const [first] = candidates(weighed({ seed: 3, aside: { 6: 2 } }).weighing);
    const bump = first?.bump;
    if (bump === undefined) throw new Error("expected a candidate");
    // what the other unknowns cannot explain is never more than the column itself, nor below
    // nothing
    const [left] = weighing.left([bump]);
    const [twice] = weighing.left([{ ...bump, shape: bump.shape.map((v) => 2 * v) }]);
    expect(left).toBeGreaterThan(0);
    expect(twice).toBeCloseTo(4 * (left ?? Number.NaN), 8);
    expect(weighing.reach({ ...bump, shape: bump.shape.map((v) => -v) })).toBeCloseTo(
      -weighing.reach(bump),
      8,
    );
  });

  it("are found where a furrow was lost, surest first, and nowhere else", () => {
    const { weighing, runsOf } = weighed({ seed: 3, aside: { 6: 2 } });
    const found = candidates(weighing);
    expect(found[0]?.chance).toBeGreaterThan(0.95);
    expect(runsOf(found[0]?.bump.from ?? -1)).toEqual([6, 5]);
    expect(found[0]?.bump.mean_m).toBeGreaterThan(0);
    const chances = found.map((one) => one.chance);
    expect(chances).toEqual(chances.toSorted((a, b) => b - a));
    expect(likely(found, 3).length).toBe(1);
  });

  it("are not likely on a day that followed its furrows", () => {
    for (const seed of [1, 2, 3, 4])
      expect(likely(candidates(weighed({ seed }).weighing), 3)).toEqual([]);
  });

  it("name the one chain that is beyond chance, once", () => {
    const { weighing, runsOf } = weighed({ seed: 5, aside: { 4: -2.4 } });
    const worst = worstChain(weighing, []);
    expect(runsOf(worst?.from ?? -1)).toEqual([4, 3]);
    expect(worst === null ? "" : worstChain(weighing, [worst])).not.toEqual(worst);
    expect(worstChain(weighed({ seed: 5 }).weighing, [])).toBeNull();
  });

  it("are switched on with their own chance", () => {
    const bump = { from: 0, shape: new Float64Array(3), mean_m: 0, spread_m: 1 };
    const chance = new Chance(1);
    let on = 0;
    for (let k = 0; k < 4000; k++) on += switched([{ bump, chance: 0.3 }], chance).length;
    expect(Math.abs(on / 4000 - 0.3)).toBeLessThan(0.03);
  });
});
