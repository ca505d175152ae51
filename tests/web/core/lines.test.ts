import { Chance } from "../../../web/src/core/chance";
import { along, moved, tapShifts } from "../../../web/src/core/lines";
import { samples } from "../../../web/src/core/samples";
import { furrows } from "./furrows";

const { stretches } = furrows({ runs: 3, sigma_m: 0, length_m: 300 });
const s = samples(stretches);

function largest(a: ArrayLike<number>): number {
  return Array.from(a).reduce((most, v) => Math.max(most, Math.abs(v)), 0);
}

describe("lines", () => {
  it("of values that run straight along every stretch are not bent by smoothing", () => {
    const values = s.t_s.map((t, i) => 3 + 0.01 * t + 5 * (s.stretch[i] ?? 0));
    expect(largest(along(s)(values).map((v, i) => v - (values[i] ?? Number.NaN)))).toBeLessThan(
      1e-6,
    );
  });

  it("lose what is short, and keep what is long, by smoothing along", () => {
    const x = s.t_s.map((_, i) => i);
    const size = (period: number): number =>
      largest(along(s)(x.map((i) => Math.cos((2 * Math.PI * i) / period))).subarray(8, 18));
    // second differences of a wave, squared, beside values: 1 / (1 + stiffness · (2 − 2 cos ω)²)
    const stiffness = (30 / (2 * Math.PI * 12)) ** 4;
    expect(size(2)).toBeCloseTo(1 / (1 + 16 * stiffness), 1);
    expect(size(24)).toBeGreaterThan(0.97);
  });

  it("are moved as their samples are, and stay as straight as they were", () => {
    const east = new Float64Array(s.t_s.length).fill(2.5);
    const north = s.t_s.map((_, i) => -1 * (s.stretch[i] ?? 0));
    const smooth = moved(
      stretches,
      s,
      new Float64Array(east.length),
      new Float64Array(east.length),
    );
    moved(stretches, s, east, north).forEach((one, k) => {
      const { x_m, y_m } = one.poses;
      expect(largest(x_m.map((x, i) => x - (smooth[k]?.poses.x_m[i] ?? 0) - 2.5))).toBeLessThan(
        1e-6,
      );
      expect(largest(y_m.map((y, i) => y - (smooth[k]?.poses.y_m[i] ?? 0) + k))).toBeLessThan(1e-6);
    });
  });

  it("shift at their ends alone, along the heading, by a tap's fraction of a second", () => {
    const chance = new Chance(2);
    let [sum, count] = [0, 0];
    for (let k = 0; k < 400; k++) {
      const { east, north } = tapShifts(s, chance);
      const hit = Array.from(s.t_s, (_, i) => i).filter((i) => east[i] !== 0);
      expect(
        hit.every((i) => s.stretch[i] !== s.stretch[i - 1] || s.stretch[i] !== s.stretch[i + 1]),
      ).toBe(true);
      expect(largest(north)).toBeLessThan(1e-9);
      for (const i of hit) [sum, count] = [sum + (east[i] ?? 0) ** 2, count + 1];
    }
    expect(count).toBe(400 * 6);
    // 0.2 s at the 2 m/s of the made runs
    expect(Math.abs(Math.sqrt(sum / count) - 0.4)).toBeLessThan(0.03);
  });
});
