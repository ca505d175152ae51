// Rings pushed out: beside the clipping library's own offsets, and by hand where it has none.
import { ClipperOffset, EndType, JoinType, type Path64 } from "clipper2-ts";
import { Chance } from "../../../web/src/core/chance";
import { Clip } from "../../../web/src/core/clip";
import { reversed, signedArea } from "../../../web/src/core/rings";
import type { Ring } from "../../../web/src/core/words";

const clip = new Clip();
const m2 = (rings: readonly Ring[]): number => rings.reduce((sum, ring) => sum + signedArea(ring), 0);
const FINE = 1e4;

/** A ragged ring about a place, anticlockwise, with spikes, notches and corners that lie together. */
function ragged(chance: Chance, x: number, y: number, size: number): Ring {
  const n = 5 + Math.floor(40 * chance.uniform());
  const out: number[] = [];
  for (let i = 0; i < n; i++) {
    const [turn, far] = [(2 * Math.PI * i) / n, size * (0.15 + 0.85 * chance.uniform())];
    out.push(x + far * Math.cos(turn), y + far * Math.sin(turn));
    if (chance.uniform() < 0.1) out.push(...out.slice(-2));
  }
  return Float64Array.from(out);
}

/** The same by the library; a round corner of a circle of 16 corners. */
function byLibrary(rings: readonly Ring[], by_m: number, join: JoinType, end = EndType.Polygon): Ring[] {
  const paths = rings.map((ring): Path64 => Array.from({ length: ring.length / 2 }, (_, i) => ({ x: Math.round(FINE * (ring[2 * i] ?? 0)), y: Math.round(FINE * (ring[2 * i + 1] ?? 0)) })));
  const offset = new ClipperOffset(2, FINE * (1 - Math.cos(Math.PI / 16)) * Math.abs(by_m));
  offset.addPaths(paths, join, end);
  const found: Path64[] = [];
  offset.execute(FINE * by_m, found);
  return found.map((path) => Float64Array.from(path.flatMap(({ x, y }) => [x / FINE, y / FINE])));
}

function apart(one: readonly Ring[], two: readonly Ring[]): number {
  return m2(clip.difference(one, two)) + m2(clip.difference(two, one));
}

describe("rings pushed out and in with round corners", () => {
  it("are what the clipping library makes of them, with holes, spikes and all", () => {
    const chance = new Chance(11);
    for (let n = 0; n < 120; n++) {
      const size = 5 + 60 * chance.uniform();
      const outer = ragged(chance, 300 * chance.uniform(), -200 * chance.uniform(), size);
      const hole = reversed(ragged(chance, (outer[0] ?? 0) - 0.5 * size, outer[1] ?? 0, 0.1 * size));
      const rings = n % 3 === 0 ? clip.difference([outer], [reversed(hole)]) : clip.union([outer]);
      for (const by_m of [0.3, 4, -0.3, -4]) {
        expect(apart(clip.grown(rings, by_m), byLibrary(rings, by_m, JoinType.Round))).toBeLessThan(0.02);
      }
      expect(apart(clip.beside(rings, 1.5), byLibrary(rings, 1.5, JoinType.Round, EndType.Joined))).toBeLessThan(0.02);
    }
  });

  it("leave nothing of what is narrower than twice the way in", () => {
    expect(clip.grown([Float64Array.of(0, 0, 30, 0, 30, 2, 0, 2)], -1.01)).toEqual([]);
  });
});

describe("mitred corners", () => {
  it("reach out to where the edges meet", () => {
    const kite = Float64Array.of(0, 0, 10, 0, 10, 10, 0, 10);
    expect(m2(clip.grown([kite], 2, "mitred"))).toBeCloseTo(196, 5);
    expect(m2(clip.grown([kite], -2, "mitred"))).toBeCloseTo(36, 5);
  });

  it("are cut off square where they would reach further than twice the distance", () => {
    // a needle 100 m long and 2 m wide at its blunt end, grown by 1 m: its tip reaches 2 m out, not 100
    const needle = Float64Array.of(0, -1, 100, 0, 0, 1);
    const [ring] = clip.grown([needle], 1, "mitred");
    const east = (ring ?? []).filter((_, i) => i % 2 === 0);
    expect(Math.max(...east)).toBeCloseTo(102, 3);
  });

  it("of a ring that turns back on itself stay within that reach", () => {
    const [ring] = clip.grown(clip.union([Float64Array.of(0, 0, 50, 0, 50, 1e-3, 0, 0.5)]), 1, "mitred");
    expect(ring).toBeDefined();
    for (let i = 0; i < (ring?.length ?? 0); i += 2) expect(Math.abs((ring?.[i] ?? 0) - 25)).toBeLessThan(27.2);
  });
});
