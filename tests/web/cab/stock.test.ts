import { areasOf } from "../../../web/src/cab/areas";
import { scarce } from "../../../web/src/cab/bins";
import { Metered } from "../../../web/src/cab/metered";
import { duskAfter } from "../../../web/src/cab/stand/bins";
import { ranOutEntry } from "../../../web/src/cab/stand/ranout";
import { binsOf } from "../../../web/src/cab/stock";
import type { Bin } from "../../../web/src/cab/sums";
import { urgent } from "../../../web/src/cab/work/urgent";
import { driving } from "../../../web/src/cab/work/driving";
import { t } from "../../../web/src/cab/words";
import { lasts } from "../../../web/src/core/balance";
import { spent } from "../../../web/src/core/spent";
import { seededAt } from "../../../web/src/core/ledger";
import { isNight } from "../../../web/src/core/sun";
import type { Log, Mark, Way } from "../../../web/src/core/words";

const T0 = 1_777_636_800_000;
const fill = (t_s: number, says: Record<string, unknown>, seq = 1): Mark => ({ kind: "fill", t_ms: T0 + t_s * 1000, phone: "cab", seq, says });
/** 4 ha an hour for ten hours. */
const SEEDED = { t_s: Float64Array.of(0, 36_000), ha: Float64Array.of(0, 40) };
const around = { seeded: SEEDED, round_m: 1000, width_m: 8.4, rates: { seed: 118 }, t0_ms: T0 };

describe("ground seeded while driving", () => {
  it("adds up as often as it was, and is known at any time between", () => {
    const metered = new Metered();
    for (let s = 1; s <= 600; s++) metered.add(1, s, 2, 8, 2 * s, 0);
    const seeded = metered.seeded();
    expect(seededAt(seeded, 600)).toBeCloseTo(0.96, 9);
    expect(seededAt(seeded, 300)).toBeCloseTo(0.48, 2);
    expect(seeded.t_s.length).toBeLessThan(80);
  });

  it("tells a round from runs up and back, and from once round", () => {
    const metered = new Metered();
    for (let run = 1; run <= 3; run++) for (let s = 1; s <= 200; s++) metered.add(run, 1000 * run + s, 2, 8, run % 2 === 1 ? 2 * s : 400 - 2 * s, 8 * run);
    expect(metered.round_m()).toBeCloseTo(800, 0);
    expect(new Metered().round_m()).toBe(null);
  });
});

describe("bins", () => {
  it("are reckoned from fills in their own units; what nobody set a rate of cannot be told", () => {
    const marks = [fill(0, { product: "Seed", kg: 2000 }), fill(10, { product: "fuel", l: 300 }), fill(20, { product: "fuel", kg: 7 })];
    const [seed, fuel] = binsOf({ ...around, marks, until_ms: T0 + 3600_000 });
    expect(seed?.left?.kg).toBeCloseTo(2000 - 4 * 118, 6);
    expect(seed?.rounds).toBe(Math.floor((((seed?.left?.ha ?? 0) - 1.2816 * (seed?.left?.ha_sigma ?? 0)) * 1e4) / 8.4 / 1000));
    expect([fuel?.product, fuel?.unit, fuel?.left]).toEqual(["fuel", "l", null]);
  });

  it("filled to the same mark tell what a hectare really got", () => {
    const marks = [fill(0, { product: "seed", kg: 2000 }), fill(3 * 3600, { product: "seed", kg: 1368, same_mark: true }, 2)];
    const [seed] = binsOf({ ...around, marks, until_ms: T0 + 4 * 3600_000 });
    expect(seed?.mean).toBeCloseTo(114, 9);
  });

  it("are said while driving only when they last for three rounds or less, the shortest first", () => {
    const bin = (product: string, ha: number, rounds: number | null): Bin => ({ product, unit: "kg", left: { kg: 118 * ha, kg_sigma: 40, ha, ha_sigma: 0.4 }, rate: 118, mean: null, rounds, rows: [], t0_ms: T0 });
    expect(scarce([bin("seed", 9, 8), bin("fertiliser", 20, 18)])).toBe(null);
    const found = scarce([bin("seed", 3.1, 2), bin("fertiliser", 3.9, 3)]);
    expect(found?.product).toBe("seed");
    const cab = { writes: true, trouble: null, battery: null, awake: "held" } as const;
    const now = { known: true, flowing: true, rig: {}, t_ms: 0 } as never;
    const said = (some: Bin | null): string => urgent({ cab, driving: { ...driving.get(), now }, count: null, aim: null, scarce: some });
    expect(said(found)).toBe("2 rounds of seed");
    expect(said(bin("seed", 1.2, 0))).toBe("Under a round of seed");
    expect(said(bin("seed", 0.2, 0))).toBe("Seed may be out");
    expect(said(null)).toBe("");
  });
});

describe("situation 9: a bin that ran dry behind, in a hidden corner", () => {
  it("is an entry with the balance's own band", () => {
    const [seed] = binsOf({ ...around, marks: [fill(0, { product: "seed", kg: 1180 })], until_ms: T0 + 36_000_000 });
    const entry = ranOutEntry(seed, T0 + 36_000_000);
    const out = seed?.rows[0]?.out;
    expect(entry.since_ms).toBeCloseTo(T0 + (((out?.from_s ?? 0) + (out?.to_s ?? 0)) / 2) * 1000, -1);
    expect(entry.since_spread_ms).toBeCloseTo((((out?.to_s ?? 0) - (out?.from_s ?? 0)) / 2) * 1000, -1);
    expect((entry.since_ms ?? 0) + (entry.since_spread_ms ?? 0)).toBeLessThan(T0 + 36_000_000);
  });

  it("without a balance is asked about, like seed that stopped", () => {
    expect(ranOutEntry(undefined, T0 + 1)).toEqual({ kind: "flow", t_ms: T0 + 1, flow: "off" });
  });
});

describe("daylight", () => {
  it("ends at civil dusk, and is not asked about at night or where the sun stays up", () => {
    const noon = Date.UTC(2026, 4, 3, 18, 0);
    const dusk = duskAfter(noon, 49.73, -106.21) ?? 0;
    expect([isNight(dusk - 300_000, 49.73, -106.21), isNight(dusk, 49.73, -106.21)]).toEqual([false, true]);
    expect(new Date(dusk).getUTCHours()).toBe(3); // nine in the evening there
    expect(duskAfter(Date.UTC(2026, 4, 3, 7, 0), 49.73, -106.21)).toBe(null);
    expect(duskAfter(Date.UTC(2026, 5, 20, 12, 0), 80, 0)).toBe(null);
  });
});

describe("situation 20: seed for a last strip at night", () => {
  it("for a last strip of 800 m that takes 0.67 ha is enough, tight, or runs dry 86 m before the end", () => {
    expect(lasts({ ha: 0.8, ha_sigma: 0.02 }, [800], 8.4).word).toBe("enough");
    expect(lasts({ ha: 0.68, ha_sigma: 0.02 }, [800], 8.4).word).toBe("tight");
    const dry = lasts({ ha: 0.6, ha_sigma: 0.02 }, [800], 8.4);
    expect([dry.word, dry.at, Math.round(dry.before_end_m)]).toEqual(["short", 0, 86]);
    expect(t.worth.lasts("seed", dry.word, "0.67 ha", "0.60 ha", "86 m", 1)).toBe("Seed runs dry about 86 m before the end of a run of 1: the way takes 0.67 ha of 0.60 ha.");
  });

  it("is told of the run in which it ends", () => {
    const found = lasts({ ha: 0.5, ha_sigma: 0.02 }, [200, 300, 400], 10);
    expect([found.at, found.before_end_m]).toEqual([2, 400]);
    expect(lasts({ ha: 0, ha_sigma: 0.02 }, [200], 10).before_end_m).toBe(200);
  });
});

describe("three estimates of the ground gone over", () => {
  const rows = 601;
  const log = (speed: number, every = 1): Log => ({
    fixes: { t_ms: Float64Array.from({ length: rows }, (_, i) => T0 + 1000 * every * i), lat_deg: new Float64Array(rows), lon_deg: new Float64Array(rows), acc_m: new Float64Array(rows), speed_m_s: new Float64Array(rows).fill(speed), course_deg: new Float64Array(rows), phone: new Int32Array(rows), segment: new Int32Array(rows), phones: ["cab"] },
    marks: [], skipped: [], notes: [],
  });
  const line = Float64Array.of(0, 500);
  const ways: Way[] = [{ run: 1, phone: "cab", width_m: 10, length_m: 1000, t_s: line, x_m: line, y_m: line, heading_rad: line }];
  const tally = { ways, swept_ha: 1 };
  const seed = (mean: number): Bin => ({ product: "seed", unit: "kg", left: null, rate: 118, mean, rounds: null, rows: [], t0_ms: T0 });

  it("agree where speed and seed say what the map says", () => {
    const found = areasOf(log(2), tally, [seed(118)], { seed: 118 }, T0);
    expect([found.map_ha, found.speed_ha, found.product_ha, found.check]).toEqual([1, 1, 1, false]);
  });

  it("ask for a check beyond 4 %, and leave out what nothing tells", () => {
    const found = areasOf(log(2), tally, [seed(118 * 1.05)], { seed: 118 }, T0);
    expect([Math.round(found.apart * 100), found.check]).toEqual([5, true]);
    expect(areasOf(log(2, 20), tally, [], {}, T0)).toMatchObject({ speed_ha: Number.NaN, product_ha: Number.NaN, check: false });
  });
});

describe("the time in the paddock", () => {
  const drive = (...legs: readonly (readonly [number, number])[]): [Float64Array, Float64Array, Float64Array] => {
    const x = [0];
    for (const [seconds, speed] of legs) for (let s = 0; s < seconds; s++) x.push((x[x.length - 1] ?? 0) + speed);
    return [Float64Array.from(x, (_, i) => i), Float64Array.from(x), new Float64Array(x.length)];
  };
  const H = 3600;

  it("is sowing in runs, turning between them, filling in the stand of a fill, and standing else", () => {
    const found = spent(...drive([H, 2], [H, 0], [H, 2], [H, 2], [H, 0], [H, 2]), [[0, H], [3 * H, 4 * H], [5 * H, 6 * H]], [1.5 * H], [[0, 6 * H]]);
    expect(found.sowing_h).toBeCloseTo(3, 1);
    for (const h of [found.filling_h, found.turning_h, found.standing_h]) expect(h).toBeCloseTo(1, 1);
    const whole = found.sowing_h + found.turning_h + found.filling_h + found.standing_h;
    expect(whole).toBeCloseTo(6, 6);
  });

  it("leaves out the night, and counts a fill for the stand beside it alone", () => {
    const runs = [[0, 600], [40_600, 41_200]] as const;
    const night = spent(...drive([600, 2], [40_000, 0], [600, 2]), runs, [20_000], runs);
    expect(night.sowing_h + night.turning_h + night.standing_h + night.filling_h).toBeCloseTo(1200 / H, 6);
    const beside = spent(...drive([600, 2], [600, 0], [600, 2], [600, 0], [600, 2]), [[0, 600], [1200, 1800], [2400, 3000]], [1300], [[0, 3000]]);
    expect([beside.filling_h, beside.standing_h]).toEqual([expect.closeTo(600 / H, 1), expect.closeTo(600 / H, 1)]);
  });
});
