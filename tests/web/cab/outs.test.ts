import { dried } from "../../../web/src/cab/gate/dried";
import { outsMarked } from "../../../web/src/cab/outs/marked";
import { drawnOf } from "../../../web/src/cab/work/ground";
import type { Pack } from "../../../web/src/carry/pack";
import { closed, loopOf } from "../../../web/src/core/loop";
import { areaOf, signedArea } from "../../../web/src/core/rings";
import type { KeepOut, Log, Mark } from "../../../web/src/core/words";
import { Driver, PLANE, T0_MS } from "./drive";
import { RIG } from "./rig";

const ROUND = (2 * Math.PI) / 60;

function logOf(driver: Driver, taps: readonly (readonly [number, "down" | "up"])[] = []): Log {
  const column = (of: (fix: Driver["fixes"][number]) => number): Float64Array => Float64Array.from(driver.fixes, of);
  const n = driver.fixes.length;
  return {
    fixes: {
      t_ms: column((f) => f.t_ms),
      lat_deg: column((f) => f.lat_deg),
      lon_deg: column((f) => f.lon_deg),
      acc_m: column((f) => f.acc_m),
      speed_m_s: column((f) => f.speed_m_s),
      course_deg: column((f) => f.course_deg),
      phone: new Int32Array(n),
      segment: new Int32Array(n),
      phones: ["cab"],
    },
    marks: taps.map(([t_s, lever], i): Mark => ({ t_ms: T0_MS + 1000 * t_s, kind: "lever", phone: "cab", seq: i + 1, says: { lever } })),
    skipped: [],
    notes: [],
  };
}

describe("a loop round a thing", () => {
  it("is found a little way after it closed, and a turn at a run's end is none", () => {
    const way = (driver: Driver): [number[], number[]] => {
      const places = driver.fixes.map((fix) => PLANE.point(fix.lon_deg, fix.lat_deg));
      return [places.map(([x]) => x), places.map(([, y]) => y)];
    };
    const found = closed(...way(new Driver().go(40, 2).go(60, 2, ROUND).go(30, 2)));
    expect(found).not.toBeNull();
    expect(found?.[0]).toBeGreaterThan(30);
    expect(found?.[1]).toBeLessThan(110);
    expect(closed(...way(new Driver().go(100, 2).go(14, 2, Math.PI / 14).go(100, 2)))).toBeNull();
    expect(closed(...way(new Driver().go(60, 2, ROUND).go(200, 2)))).toBeNull();
    expect(loopOf(logOf(new Driver()), [RIG], 2)).toBeNull();
  });

  it("keeps out what lies inside the tool's inner end, where the tool was down all the way", () => {
    // the pin runs on a circle of 19.1 m; the tool's axle inside it, and half of 8.4 m further in
    const driver = new Driver().go(40, 2).go(62, 2, ROUND).go(10, 2);
    const loop = loopOf(logOf(driver, [[20, "down"]]), [RIG], 2);
    expect(loop?.sown).toBe(true);
    const tool = Math.sqrt((60 / Math.PI) ** 2 - RIG.tool.pin_to_axle_m ** 2);
    const inner = tool - RIG.tool.width_m / 2 + 0.5;
    expect((loop?.area_m2 ?? 0) / (Math.PI * inner ** 2)).toBeCloseTo(1, 0.7);
    expect(loop?.ring.length).toBeLessThan(121);
  });

  it("keeps out what lies so far inside of the wheel tracks, where the tool was up", () => {
    const driver = new Driver().go(40, 2).go(62, 2, -ROUND).go(10, 2);
    const log = logOf(driver, [[20, "down"], [30, "up"]]);
    const loop = loopOf(log, [RIG], 3);
    expect(loop?.sown).toBe(false);
    expect((loop?.area_m2 ?? 0) / (Math.PI * (60 / Math.PI - 3) ** 2)).toBeCloseTo(1, 1);
    const [x, y] = PLANE.point(loop?.lon_deg ?? 0, loop?.lat_deg ?? 0);
    expect(Math.hypot(x - 80, y + 60 / Math.PI)).toBeLessThan(2);
    expect(loopOf(log, [RIG], 30)).toBeNull();
  });

  it("comes back from its entry as the ground it was, and a ring that is none is left out", () => {
    const driver = new Driver().go(40, 2).go(62, 2, ROUND).go(10, 2);
    const loop = loopOf(logOf(driver), [], 2);
    const says = { what: "stone", note: "keep-out", ring: loop?.ring };
    const mark = (ring: unknown): Mark => ({ t_ms: 5, kind: "mark", phone: "cab", seq: 1, says: { ...says, ring } });
    const [out] = outsMarked([mark(loop?.ring)]);
    expect(areaOf(PLANE.areaToXy(out?.area ?? []))).toBeCloseTo(loop?.area_m2 ?? 0, -1);
    expect(outsMarked([mark([[1, 2]]), mark("ring"), mark([[1, 2], [3, "x"], [4, 5]])])).toEqual([]);
  });
});

describe("a keep-out whose date has passed", () => {
  const out = (name: string, until_ms: number | null): KeepOut => ({ kind: "wet", area: [], name, hazard: false, from_ms: null, until_ms });
  const land = { name: "", area: null, keep_outs: [out("low spot", 100), out("slough", null), out("late", 900)], boundary: "survey" as const, notes: [] };

  it("is named once its ground is counted again, and no other is", () => {
    expect(dried([{ id: "p", land }], "p", [out("", 50)], 500).map(({ until_ms }) => until_ms)).toEqual([100, 50]);
    expect(dried([{ id: "p", land }], "q", [], 500)).toEqual([]);
    expect(dried([{ id: "p", land }], "p", [], 99)).toEqual([]);
  });
});

describe("what lay there before", () => {
  const square = (x: number, side: number): number[][][] => {
    const ring = [[x, 0], [x + side, 0], [x + side, side], [x, side], [x, 0]].map(([east, north]) => PLANE.degrees(east ?? 0, north ?? 0) as number[]);
    return [ring];
  };
  const feature = (state: string, coordinates: unknown, type = "Polygon"): object => ({ type: "Feature", geometry: { type, coordinates }, properties: { state } });
  const pack = (features: readonly object[]): Pack => ({ paddocks: [{ land: { area: null, keep_outs: [] }, ground: null }, { land: { area: PLANE.areaToDegrees([[Float64Array.of(0, 0, 90, 0, 90, 90, 0, 90)]]), keep_outs: [] }, ground: { features } }] }) as unknown as Pack;

  it("is drawn state by state, so that what was sown twice is no hole in what was sown", () => {
    const drawn = drawnOf(PLANE, pack([feature("sown", square(0, 40)), feature("twice", [square(0, 5), square(20, 5)], "MultiPolygon"), feature("doubt", square(50, 8)), feature("bare", square(70, 8))]), 0);
    const areas = (["sown", "twice", "doubt"] as const).map((state) => drawn.before[state].map((ring) => Math.round(Math.abs(signedArea(ring)))));
    expect(areas).toEqual([[1600], [25, 25], [64]]);
    expect(drawn.fence).toHaveLength(1);
  });

  it("has the keep-outs of this phone beside those of the farm, as long as they hold", () => {
    const area = PLANE.areaToDegrees([[Float64Array.of(0, 0, 9, 0, 9, 9, 0, 9)]]);
    const out = { kind: "wire", area, name: "", hazard: true, from_ms: null, until_ms: 100 };
    expect(drawnOf(PLANE, null, 50, [out]).outs).toMatchObject([{ letter: "W", hazard: true }]);
    expect(drawnOf(PLANE, pack([]), 101, [out]).outs).toEqual([]);
  });
});
