// Product and time, asked by the vectors.
import { type Rate, after, calibrated, left, ranOut, rounds } from "../../../web/src/core/balance";
import { ledger, meanOf } from "../../../web/src/core/ledger";
import { hoursLeft, lostOf, paceHaH, paces, spreadH, theoreticalHaH } from "../../../web/src/core/capacity";
import { fieldRate, plantsM2, plantsRate, rowRate, seedsRate, survival, tray, trayArea } from "../../../web/src/core/rate";

// oxlint-disable-next-line typescript/no-explicit-any
type Json = any;

/** Every number as wanted, within a part of it. */
function same(got: Readonly<Record<string, number>>, want: Readonly<Record<string, number>>, part: number): void {
  expect(Object.keys(got).toSorted()).toEqual(Object.keys(want).toSorted());
  for (const key of Object.keys(want)) {
    const off = Math.abs((got[key] ?? NaN) - (want[key] ?? NaN));
    expect(off, key).toBeLessThanOrEqual(part * Math.abs(want[key] ?? NaN) + 1e-12);
  }
}

export function weighing(given: Json, want: Json, tolerance: Json): void {
  const rate = given.used.reduce((known: Rate, [kg, ha]: [number, number]) => after(known, kg, ha), calibrated(given.card_kg_ha)) as Rate;
  const on = left(given.level_kg, given.seeded_ha, rate, given.level_sigma_kg);
  const out = ranOut(given.level_kg, rate, given.level_sigma_kg);
  const [metres, minutes] = [1e4 / given.width_m, 60 / given.ha_per_h];
  const got = {
    ...rate,
    ...on,
    way_m: on.ha * metres,
    way_sigma_m: on.ha_sigma * metres,
    minutes: on.ha * minutes,
    minutes_sigma: on.ha_sigma * minutes,
    rounds: rounds(on, given.round_m, given.width_m),
    out_at_ha: out.at_ha,
    out_from_ha: out.from_ha,
    out_to_ha: out.to_ha,
  };
  same(got, want, tolerance.part);
}

type Formula = (a: number, b: number, c: number, d: number) => number;
const ASKED: Readonly<Record<string, Formula>> = { plants: plantsRate, seeds: seedsRate, area: trayArea, field: fieldRate, row: rowRate, count: plantsM2, survival };

export function rating(given: Json, want: Json, tolerance: Json): void {
  let got: number[];
  if (given.of === "tray") {
    const found = tray(given.catches_kg, given.area_ha);
    got = [found.rate_kg_ha, found.cv, Number(found.again)];
  } else {
    const formula = ASKED[given.of] as Formula;
    const [a, b, c, d] = given.numbers;
    got = [formula(a, b, c, d)];
  }
  expect(got.length).toBe(want.numbers.length);
  got.forEach((value, i) => expect(Math.abs(value - want.numbers[i])).toBeLessThanOrEqual(tolerance.numbers));
}

export function pacing(given: Json, want: Json, tolerance: Json): void {
  const theoretical = theoreticalHaH(given.width_m, given.speed_km_h);
  const { efficiency, turning, filling, standing, overlap } = lostOf(given.hours, given.area_ha, theoretical);
  const pace = paceHaH(given.recent_ha, given.recent_h, given.usual_ha_h);
  const left_h = hoursLeft(given.left_ha, pace, given.fills, given.fill_stop_h);
  const some = paces(given, given.from_s, given.to_s);
  const spread_h = spreadH(left_h, some);
  const got = {
    ...(spread_h === null ? {} : { spread_h }),
    ...Object.fromEntries(some.toReversed().map((one, k) => [`pace_${k}`, one])),
    theoretical_ha_h: theoretical,
    efficiency,
    lost_turning: turning,
    lost_filling: filling,
    lost_standing: standing,
    lost_overlap: overlap,
    pace_ha_h: pace,
    hours_left: left_h,
  };
  same(got, want, tolerance.part);
}

export function stocking(given: Json, want: Json, tolerance: Json): void {
  const seeded = { t_s: Float64Array.from(given.t_s as number[]), ha: Float64Array.from(given.ha as number[]) };
  const card = given.card_kg_ha === null ? null : calibrated(given.card_kg_ha);
  const made = ledger(given.fills, seeded, card, given.now_s);
  const got = made.rows.map(({ seeded_ha, level, before, used, rate, out }) => ({ seeded_ha, level, before, used, rate, out_s: out === null ? null : [out.from_s, out.at_s, out.to_s] }));
  alike({ rows: got, now_kg: made.now?.kg ?? null, mean_kg_ha: meanOf(made) }, want, tolerance.part);
}

/** The same numbers, or nothing where nothing is wanted, all the way down. */
function alike(got: Json, want: Json, part: number): void {
  if (typeof want === "number") expect(Math.abs(got - want)).toBeLessThanOrEqual(part * Math.abs(want) + 1e-9);
  else if (want === null) expect(got).toBe(null);
  else {
    expect(Object.keys(got).toSorted()).toEqual(Object.keys(want).toSorted());
    for (const key of Object.keys(want)) alike(got[key], want[key], part);
  }
}
