import { ends, fence } from "../../../web/src/core/edges";
import { gapChange, oneWidth, samples, unmoved } from "../../../web/src/core/samples";
import type { Stretch } from "../../../web/src/core/picture";
import { seams } from "../../../web/src/core/seams";
import { furrows } from "./furrows";

const EXACT = { sigma_m: 0, overlap_m: 0.3, runs: 5, length_m: 240 };
const { stretches } = furrows(EXACT);
const s = samples(stretches);
const square = (west: number, south: number, east: number, north: number): Float64Array =>
  Float64Array.of(west, south, east, south, east, north, west, north);

/** The same headland run across the ends of all runs, sown before them. */
function headland(at: number): Stretch {
  const t_s = Float64Array.from({ length: 40 }, (_, i) => 2 * i - 400);
  const y_m = Float64Array.from({ length: 40 }, (_, i) => 2 * i - 20);
  const x_m = new Float64Array(40).fill(at);
  const heading_rad = new Float64Array(40).fill(Math.PI / 2);
  const path_m = Float64Array.from({ length: 40 }, (_, i) => 2 * i);
  const poses = { t_s, x_m, y_m, heading_rad, path_m };
  return { run: 9, leg: 0, front_m: 0.5, rear_m: -0.5, width_m: 9, poses };
}

describe("gaps seen from the samples", () => {
  it("are those between neighbouring runs, each seen once and from the later one", () => {
    const rows = seams(s, s.x_m, s.y_m, 0.4);
    expect(new Set(rows.chain).size).toBe(4);
    rows.gap_m.forEach((gap, i) => {
      const [later, earlier] = [rows.who[3 * i] ?? -1, rows.who[3 * i + 1] ?? -1];
      expect((s.run[later] ?? 0) - (s.run[earlier] ?? 0)).toBe(1);
      // the made driver swerves by a hand's breadth or two
      expect(Math.abs(gap + 0.3)).toBeLessThan(0.6);
    });
  });

  it("are not seen over a run that was left out", () => {
    const rows = seams(samples(stretches.filter((one) => one.run !== 2)), ...moved(2), 0.4);
    expect(new Set(rows.chain).size).toBe(2);
  });

  it("change with a drift of both runs by what lies across them", () => {
    const rows = seams(s, s.x_m, s.y_m, 0.4);
    const north = s.y_m.map((_, i) => ((s.run[i] ?? 0) === 1 ? 0.5 : 0));
    const east = s.x_m.map(() => 7);
    const change = Array.from(rows.gap_m, (_, i) => gapChange(rows, i, east, north));
    const runs = Array.from(rows.gap_m, (_, i) => s.run[rows.who[3 * i] ?? -1] ?? -1);
    // the logged picture lies too far north where run 1 drifted: the true gap to run 0 is smaller
    change.forEach((by, i) => expect(by).toBeCloseTo([0, -0.5, 0.5, 0, 0][runs[i] ?? -1] ?? 9, 9));
    expect(unmoved(rows, east, north).gap_m[0]).toBeCloseTo(
      (rows.gap_m[0] ?? 0) - (change[0] ?? 0),
      12,
    );
  });

  it("are left out where the middle of a chain is nearer to two widths", () => {
    const rows = seams(s, s.x_m, s.y_m, 0.4);
    const wide = rows.gap_m.map((gap, i) => (rows.chain[i] === rows.chain[0] ? 6 : gap));
    const kept = oneWidth(rows, wide, 0.4);
    expect(kept.length).toBe(Array.from(rows.chain).filter((c) => c !== rows.chain[0]).length);
  });

  it("are not seen from a second lap that drifted beside the first", () => {
    const [first] = stretches;
    if (first === undefined) throw new Error("expected a run, but furrows made none");
    const { poses } = first;
    const t_s = poses.t_s.map((t) => t + 600);
    const y_m = poses.y_m.map((y) => y + 0.37 * first.width_m);
    const both = samples([first, { ...first, run: first.run + 1, poses: { ...poses, t_s, y_m } }]);
    const rows = fence(both, [[square(-20, -4.6, 260, 90)]], 0.45);
    expect(rows.gap_m.length).toBeGreaterThan(10);
    expect(Array.from(rows.who).every((i) => both.run[i] === first.run)).toBe(true);
  });

  it("tell how far the outermost run lies from the fence, and on which side of it", () => {
    const inside = fence(s, [[square(-20, -5.5, 260, 60)]], 0.4);
    expect(inside.gap_m.length).toBeGreaterThan(10);
    expect(Array.from(inside.who).every((i) => s.run[i] === 0)).toBe(true);
    inside.gap_m.forEach((gap, i) => {
      const y = s.y_m[inside.who[3 * i] ?? -1] ?? Number.NaN;
      expect(gap).toBeCloseTo(y + 5.5 - 4.5, 9);
      expect(inside.north[3 * i]).toBeCloseTo(-1, 9);
    });
    const outside = fence(s, [[square(-20, 1.2, 260, 60)]], 2);
    const beyond = Array.from(outside.gap_m).filter(
      (_, i) => (s.y_m[outside.who[3 * i] ?? -1] ?? 9) < 0.8,
    );
    expect(beyond.length).toBeGreaterThan(3);
    beyond.forEach((gap) => expect(gap).toBeLessThan(-4.5));
  });

  it("are not seen at a fence behind another run, nor at the edge of a hole", () => {
    const far = fence(s, [[square(-20, -5.5, 260, 60)]], 5, 5);
    // at its ends a run is beside ground that was sown a moment ago
    const between = Array.from(far.who).filter((i) => Math.abs((s.x_m[i] ?? 0) - 120) < 60);
    expect(new Set(between.map((i) => s.run[i]))).toEqual(new Set([0, 4]));
    const hole = square(40, 16, 200, 20);
    const with_hole = fence(s, [[square(-500, -500, 900, 900), hole]], 2, 2);
    expect(with_hole.gap_m.length).toBe(0);
  });

  it("tell how far runs end from the headland that was sown before them", () => {
    const all = samples([headland(246), ...stretches]);
    const { gaps, starts } = ends(all, 0.5);
    expect(gaps.gap_m.length).toBe(5);
    // the bar's middle stops at 240 m, 0.5 m of it are ahead; the headland's edge lies at 241.5 m
    gaps.gap_m.forEach((gap) => expect(gap).toBeCloseTo(2, 6));
    expect(Array.from(starts)).toEqual([0, 1, 0, 1, 0]);
    expect(ends(samples([headland(300), ...stretches]), 0.5).gaps.gap_m.length).toBe(0);
  });
});

function moved(leftOut: number): [Float64Array, Float64Array] {
  const { x_m, y_m } = samples(stretches.filter((one) => one.run !== leftOut));
  return [x_m, y_m];
}
