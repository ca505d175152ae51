import { countOf, Cuer, TONE_M } from "../../../web/src/cab/work/cuer";
import { EVEN_M, marginOf } from "../../../web/src/cab/work/costs";
import { lightFor } from "../../../web/src/cab/work/light";
import { RHYTHMS, buzzOf, type Sign } from "../../../web/src/cab/work/tones";
import { urgent, type Seen } from "../../../web/src/cab/work/urgent";
import { DAY, NIGHT, cellInk, inDot, onHatch } from "../../../web/src/cab/work/ink";
import { scaleFor } from "../../../web/src/cab/work/view";
import type { Now } from "../../../web/src/cab/live";
import { rigOf } from "../core/made";
import { T0_MS } from "./drive";
import { RIG } from "./rig";

/** The invented farm of the design's job paper, 7. */
const PRICES = { seed_kg_ha: 118, seed_price_kg: 0.46, fert_kg_ha: 105, fert_price_kg: 0.88, fuel_l_ha: 5.2, fuel_price_l: 1.35, tractor_h: 58, yield_t_ha: 2.4, grain_price_t: 330, weed_penalty_ha: 150 };

const NOW: Now = { t_ms: T0_MS, x_m: 0, y_m: 0, heading_rad: 0, speed_m_s: 7.5 / 3.6, turn_rad_s: 0, known: true, standing: false, stood_s: 0, steady_s: 30, stance: null, rig: RIG, down: true, flowing: true, sown_ha: 1, acc_m: 3, edge: null, usual_m_s: 7.5 / 3.6 };

describe("the cue", () => {
  it("counts four past the edge to lift, three and a half before it to lower, for the demo rig", () => {
    // job paper 3.14: 4.2 s and 3.4 s with a margin of 1.2 m; the eye's margin is 0.94 m, 0.13 s less
    const count = countOf(RIG, 7.5 / 3.6, PRICES);
    expect(count?.lift_s).toBeCloseTo(4.2 - 0.13, 1);
    expect(count?.lower_s).toBeCloseTo(-3.4 + 0.13, 1);
    // a phone 1 m ahead of the seat has crossed half a second before it
    const ahead = countOf({ ...RIG, phone: { ...RIG.phone, ahead_of_seat_m: 1 } }, 7.5 / 3.6, PRICES);
    expect((count?.lift_s ?? 0) - (ahead?.lift_s ?? 0)).toBeCloseTo(0.48, 9);
    expect((count?.lower_s ?? 0) - (ahead?.lower_s ?? 0)).toBeCloseTo(0.48, 9);
  });

  it("counts nothing where the card has no times or no speed is known", () => {
    expect(countOf(rigOf({}), 2, PRICES)).toBeNull();
    expect(countOf(RIG, Number.NaN, PRICES)).toBeNull();
  });

  it("sounds before the place by the hand's and the fix's delay, once", () => {
    const cuer = new Cuer();
    const near = (past_m: number): Now => ({ ...NOW, edge: { what: "sown", past_m, sigma_m: 0.6 } });
    expect(cuer.step(near(-20), PRICES, 0.2)).toBeNull();
    const sounds = cuer.step(near(4.5), PRICES, 0.2);
    const wished = 8.75 - NOW.speed_m_s * 0.6 + marginOf(PRICES, RIG, NOW.speed_m_s, 0.6);
    expect(sounds?.sign).toBe("lift");
    expect(sounds?.in_s).toBeCloseTo((wished - 4.5) / NOW.speed_m_s - 0.8 - 0.2, 6);
    expect(cuer.step(near(6.5), PRICES, 0.2)).toBeNull();
  });

  it("is silent at an edge that is not known well enough", () => {
    const now = { ...NOW, edge: { what: "sown", past_m: 4.5, sigma_m: TONE_M } as const };
    expect(new Cuer().step(now, PRICES, 0)).toBeNull();
  });

  it("wishes the even margin where prices are missing", () => {
    expect(marginOf({ ...PRICES, seed_price_kg: null }, RIG, 2, 1)).toBe(EVEN_M);
    // job paper 3.14: q = 0.83, z = 0.94
    expect(marginOf(PRICES, RIG, 7.5 / 3.6, 1)).toBeCloseTo(0.94, 2);
  });
});

describe("the signs", () => {
  it("differ in rhythm, not in pitch alone", () => {
    const signs = (Object.keys(RHYTHMS) as Sign[]).filter((sign) => !["down", "up", "lift", "lower"].includes(sign));
    const rhythms = signs.map((sign) => buzzOf(sign).join(" "));
    expect(new Set(rhythms).size).toBe(signs.length);
    // the lever's pair and the cue's pair go opposite ways
    expect(RHYTHMS.down[0]?.from).toBeGreaterThan(RHYTHMS.down[1]?.from ?? 0);
    expect(RHYTHMS.up[0]?.from).toBeLessThan(RHYTHMS.up[1]?.from ?? 0);
  });

  it("lie between 600 and 1500 Hz", () => {
    const notes = Object.values(RHYTHMS).flat();
    expect(Math.min(...notes.map(({ from, to }) => Math.min(from, to)))).toBeGreaterThanOrEqual(600);
    expect(Math.max(...notes.map(({ from, to }) => Math.max(from, to)))).toBeLessThanOrEqual(1500);
  });
});

describe("the one urgent line", () => {
  const calm: Seen = {
    cab: { writes: true, trouble: null, battery: null, awake: "held" },
    driving: { on: true, making: false, live: null, now: { ...NOW, down: false }, silent: false, lost: false, trouble: null, seldom: false, unstored: 0, doubt: null, strains: 0, strained_ms: Number.NEGATIVE_INFINITY, left_ms: null },
    count: { lift_s: 4.2, lower_s: -3.4 },
    aim: null,
    scarce: null,
  };

  it("is the count when nothing else is", () => {
    expect(urgent(calm)).toBe("Lower 3 s before");
    expect(urgent({ ...calm, driving: { ...calm.driving, now: NOW } })).toBe("Edge, count 4, lift");
  });

  it("puts a log that is not written before a position that is missing", () => {
    const silent = { ...calm, driving: { ...calm.driving, silent: true } };
    expect(urgent(silent)).toBe("No position");
    expect(urgent({ ...silent, cab: { ...calm.cab, trouble: { code: "full", message: "" } } })).toBe("Not stored");
  });

  it("says how a day that broke off left the lever, before what can wait", () => {
    const left = urgent({ ...calm, driving: { ...calm.driving, left_ms: new Date(2026, 4, 3, 15, 10).getTime() } });
    expect(left).toBe("Was DOWN at 15:10");
    expect(urgent({ ...calm, driving: { ...calm.driving, silent: true, left_ms: 1 } })).toBe("No position");
  });

  it("says while it stands how the patch is driven up to that was chosen, and on the way no more than a glance takes", () => {
    const aim = { number: 4, lat_deg: 0, lon_deg: 0, outline: [], words: "North side, at the fence. Enter from the south, 40 m.", enter: "4 from the south, 40 m" };
    expect(urgent({ ...calm, aim })).toBe("4 from the south, 40 m");
    const stands = { ...calm.driving, now: { ...NOW, standing: true } };
    expect(urgent({ ...calm, aim, driving: stands })).toBe("Patch 4: North side, at the fence. Enter from the south, 40 m.");
    expect(urgent({ ...calm, aim: { ...aim, enter: "" } })).toBe("To patch 4");
    expect(urgent({ ...calm, aim, driving: { ...calm.driving, silent: true } })).toBe("No position");
  });

  it("says corners, low batteries and a screen that may sleep before the count", () => {
    const kept = { ...calm.driving, strains: 3, strained_ms: T0_MS - 5_000 };
    expect(urgent({ ...calm, driving: kept })).toBe("Corner kept: 3");
    expect(urgent({ ...calm, driving: { ...kept, strained_ms: T0_MS - 60_000 } })).toBe("Lower 3 s before");
    expect(urgent({ ...calm, cab: { ...calm.cab, battery: { part: 0.18, charging: false, left_h: null } } })).toBe("Battery 18 %");
    expect(urgent({ ...calm, cab: { ...calm.cab, awake: "lost" } })).toBe("Screen may sleep");
  });
});

describe("night", () => {
  const noon = { t_ms: Date.UTC(2026, 5, 20, 19, 0), lat_deg: 49.7, lon_deg: -106.2 };
  const late = { ...noon, t_ms: Date.UTC(2026, 5, 21, 6, 0) };
  it("follows the sun, but never in a turn", () => {
    expect(lightFor("day", noon, 0)).toBe("day");
    expect(lightFor("day", late, 0)).toBe("night");
    expect(lightFor("day", late, 0.2)).toBe("day");
    expect(lightFor("night", null, 0)).toBe("night");
  });
});

describe("the ground's ink", () => {
  it("leaves bare ground clear, and tells doubt and twice by pattern", () => {
    for (const ink of [DAY, NIGHT]) {
      const of = cellInk(ink);
      expect(of(0, 0, 1, 2)).toBe(0);
      expect(of(1, 0, 0, 0)).toBe(of(1, 0, 3, 5));
      const twice = new Set(Array.from({ length: 64 }, (_, i) => of(2, 0, i % 8, i >> 3)));
      const doubt = new Set(Array.from({ length: 36 }, (_, i) => of(1, 1, i % 6, Math.floor(i / 6))));
      expect([twice.size, doubt.size]).toEqual([2, 2]);
    }
    expect(onHatch(3, 5)).toBe(true);
    expect(inDot(2, 0)).toBe(false);
  });

  it("shows the rig and its neighbours on any screen", () => {
    for (const [wide, high] of [[360, 165], [412, 300], [350, 208]] as const) {
      const scale = scaleFor(wide, high, RIG);
      expect(scale * RIG.tool.width_m * 3).toBeLessThan(wide);
      expect(scale * 8.75 * 2).toBeLessThan(high);
      expect(scale).toBeGreaterThanOrEqual(2);
    }
  });
});
