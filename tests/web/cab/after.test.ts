// Of a day on which two rigs worked, what is this one's alone: its bins, its hours, where its openers stopped.
import { after } from "../../../web/src/cab/after";
import { ownFirst } from "../../../web/src/cab/pick";
import type { Job } from "../../../web/src/cab/sums";
import { Clip } from "../../../web/src/core/clip";
import { find } from "../../../web/src/core/day";
import { EXAMPLE } from "../../../web/src/core/price";
import { type Fixes, type Log, type Mark, type Paddock, type Rig, SETTINGS } from "../../../web/src/core/words";
import { logOf } from "../../../web/src/core/work";
import { LENGTH_M, log, PLANE, RIG, WIDTH_M } from "../core/smallday";

/** The other rig began so much earlier, and works so far north. */
const [EARLIER_MS, NORTH_M] = [600_000, 2 * WIDTH_M];
const clip = new Clip();
const LAND: Paddock = {
  name: "both",
  area: PLANE.areaToDegrees([[Float64Array.of(0, 0, LENGTH_M, 0, LENGTH_M, WIDTH_M + NORTH_M, 0, WIDTH_M + NORTH_M)]]),
  keep_outs: [],
  boundary: "survey",
  notes: [],
};
const cardOf = (phone: string): Rig => ({ ...RIG, name: `rig of ${phone}`, phones: [phone] });
const fill = (phone: string, t_ms: number, kg: number): Mark => ({ t_ms, kind: "fill", phone, seq: 99, says: { product: "seed", kg } });
const seen = (phone: string, t_ms: number, what: string, note = ""): Mark => ({ t_ms, kind: "mark", phone, seq: 98, says: { what, note } });
const sooner = <T extends { readonly t_ms: number }>(marks: readonly T[], phone: string): T[] => marks.map((mark) => Object.assign({}, mark, { phone, t_ms: mark.t_ms - EARLIER_MS }));

/** The small day twice: by this phone, and by another one further north that began earlier. */
function both(): Log {
  const one = log();
  const north = PLANE.degrees(0, NORTH_M)[1] - PLANE.lat0_deg;
  const n = one.fixes.t_ms.length;
  const twice = (name: "t_ms" | "lat_deg" | "lon_deg" | "acc_m" | "speed_m_s" | "course_deg", by: number): Float64Array => {
    const out = new Float64Array(2 * n);
    out.set(one.fixes[name]);
    out.set(one.fixes[name].map((value) => value + by), n);
    return out;
  };
  const fixes: Fixes = {
    t_ms: twice("t_ms", -EARLIER_MS),
    lat_deg: twice("lat_deg", north),
    lon_deg: twice("lon_deg", 0),
    acc_m: twice("acc_m", 0),
    speed_m_s: twice("speed_m_s", 0),
    course_deg: twice("course_deg", 0),
    phone: Int32Array.from({ length: 2 * n }, (_, i) => Number(i >= n)),
    segment: new Int32Array(2 * n),
    phones: ["cab", "another"],
  };
  const start = one.fixes.t_ms[0] ?? 0;
  return { ...one, fixes, marks: [...one.marks, fill("cab", start - 1000, 200), ...sooner(one.marks, "another"), fill("another", start - EARLIER_MS - 1000, 900), seen("another", start, "wire", "keep-out"), seen("another", start, "strain"), { ...seen("another", start, ""), kind: "shift", says: { shift: "start", driver: "north" } }] };
}

function job(): Job {
  return { unstored: [], dev: "cab", paddocks: [], paddock: null, lap: false, rigs: [], settings: SETTINGS, painted: null, weigh: false, prices: EXAMPLE, trip_s: 600, rates: { seed: 100 }, day_ms: 0 };
}

it("two rigs' day: bins, hours and where it stopped are those of the phone that asks", () => {
  const given = ownFirst(both(), "cab");
  const cards = ["cab", "another"].map(cardOf);
  const day = find(given, LAND, cards, { ...SETTINGS, settle: false, draws: 0 }, clip);
  expect(day.tally.rigs.map(({ phones }) => phones)).toEqual([["cab"], ["another"]]);
  const t0_ms = given.fixes.t_ms.reduce((least, t) => Math.min(least, t), Infinity);
  const found = after(day, { log: logOf(given, ["cab"], given.fixes.phones), every: given.marks, t0_ms, rigs: cards, name: "", share: 0 }, job(), clip);
  // the same day with this rig alone in the log
  const alone = find(log(), LAND, [RIG], { ...SETTINGS, settle: false, draws: 0 }, clip);
  const only: Log = { ...log(), marks: [...log().marks, fill("cab", (log().fixes.t_ms[0] ?? 0) - 1000, 200)] };
  const usual = after(alone, { log: only, every: only.marks, t0_ms: log().fixes.t_ms[0] ?? 0, rigs: [RIG], name: "", share: -1 }, job(), clip);
  expect(found.bins.map(({ product }) => product)).toEqual(["seed"]);
  expect(found.bins[0]?.left?.kg).toBeCloseTo(usual.bins[0]?.left?.kg ?? Number.NaN, 3);
  expect(found.bins[0]?.left?.kg).toBeLessThan(200);
  expect(found.areas.map_ha).toBeCloseTo(usual.areas.map_ha, 6);
  expect(found.lost?.efficiency).toBeCloseTo(usual.lost?.efficiency ?? Number.NaN, 2);
  expect(found.handed.stopped?.t_ms).toBe(usual.handed.stopped?.t_ms);
  expect(found.handed.machine).toEqual(["rig of cab"]);
  // a wire that the other driver marked is everybody's, his strained tines and his name are not
  expect([found.handed.hazards, found.handed.driver]).toEqual([["wire"], ""]);
  // the ground is that of both
  expect(found.handed.sown_ha).toBeCloseTo(2 * usual.handed.sown_ha, 2);
});
