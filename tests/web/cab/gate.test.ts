import { decided, decisions } from "../../../web/src/cab/gate/decided";
import { abeam } from "../../../web/src/cab/outs/page";
import { outsMarked } from "../../../web/src/cab/outs/marked";
import { inOrder } from "../../../web/src/cab/nearest";
import { alone, belonging, paddockHere, rigsFor, seasonOf } from "../../../web/src/cab/pick";
import { numberOf } from "../../../web/src/cab/set/prices";
import { meanOf } from "../../../web/src/cab/stand/peg";
import { answerOf, words } from "../../../web/src/cab/stand/questions";
import { inUse } from "../../../web/src/cab/set/mount";
import { sinceEntries, sinces, stopped } from "../../../web/src/cab/stand/since";
import type { Found, Sums } from "../../../web/src/cab/sums";
import { entryOf } from "../../../web/src/cab/trial/page";
import { measured, timesOf } from "../../../web/src/cab/trial/times";
import type { PackRig } from "../../../web/src/carry/pack";
import { Plane } from "../../../web/src/core/plane";
import type { Fixes, Log, Mark, Paddock, Ring } from "../../../web/src/core/words";

const PLANE = new Plane(49.73, -106.21);
const square = (x: number, y: number, side: number): Ring => Float64Array.of(x, y, x + side, y, x + side, y + side, x, y + side);
const inDegrees = (ring: Ring): Ring => PLANE.areaToDegrees([[ring]])[0]?.[0] ?? new Float64Array(0);
const land = (ring: Ring): Paddock => ({ name: "", area: [[inDegrees(ring)]], keep_outs: [], boundary: "survey", notes: [] });
const mark = (kind: string, t_ms: number, says: Record<string, unknown>, seq = 1): Mark => ({ kind, t_ms, phone: "cab", seq, says });

function fixesAt(rows: readonly (readonly [number, number, number])[]): Fixes {
  const nothing = new Float64Array(rows.length).fill(Number.NaN);
  const places = rows.map(([, x, y]) => PLANE.degrees(x, y));
  return {
    t_ms: Float64Array.from(rows, ([t]) => t),
    lon_deg: Float64Array.from(places, ([lon]) => lon),
    lat_deg: Float64Array.from(places, ([, lat]) => lat),
    acc_m: nothing,
    speed_m_s: nothing,
    course_deg: nothing,
    phone: new Int32Array(rows.length),
    segment: new Int32Array(rows.length),
    phones: ["cab"],
  };
}

const near = { id: "near", name: "Near", land: land(square(0, 0, 400)) };
const far = { id: "far", name: "Far", land: land(square(5000, 0, 400)) };

describe("what belongs to a paddock", () => {
  const MINUTE = 60_000;
  const log: Log = {
    fixes: fixesAt([[MINUTE, 100, 100], [2 * MINUTE, 600, 100], [30 * MINUTE, 5100, 100], [31 * MINUTE, 5100, 200]]),
    marks: [mark("lever", 1.5 * MINUTE, {}), mark("lever", 10 * MINUTE, {}), mark("lever", 30.5 * MINUTE, {}), mark("say", 30.5 * MINUTE, { paddock: "near" })],
    skipped: [],
    notes: [],
  };

  it("is what was logged in it or within 300 m, and what names it", () => {
    const mine = belonging(log, near, 0);
    expect(Array.from(mine?.fixes.t_ms ?? [])).toEqual([MINUTE, 2 * MINUTE]);
    expect(mine?.marks.map(({ kind, t_ms }) => [kind, t_ms / MINUTE])).toEqual([["lever", 1.5], ["say", 30.5]]);
  });

  it("is nothing where nobody was since then", () => {
    expect(belonging(log, near, 3 * MINUTE)).toBeNull();
  });

  it("is told by the newest position", () => {
    expect(paddockHere(log.fixes, [near, far])?.id).toBe("far");
    expect(paddockHere(fixesAt([[0, 2500, 0]]), [near, far])).toBeNull();
  });

  it("begins with the year", () => {
    expect(new Date(seasonOf(Date.UTC(2026, 4, 3, 12))).getFullYear()).toBe(2026);
  });
});

describe("two phones at work at once, whose clocks nobody has compared", () => {
  const MINUTE = 60_000;
  const both = (): Log => {
    const fixes = fixesAt([[0, 0, 0], [MINUTE, 100, 0], [2 * MINUTE, 200, 0], [MINUTE, 300, 0], [2 * MINUTE, 400, 0], [90 * MINUTE, 0, 50]]);
    const marks = [mark("lever", 0.5 * MINUTE, { lever: "down" }), mark("blind", MINUTE, { answer: "down" }), mark("lever", 90 * MINUTE, { lever: "up" })].map((each, i) => Object.assign(each, { phone: i === 0 ? "cab" : "other" }));
    return { fixes: { ...fixes, phone: Int32Array.of(0, 0, 0, 1, 1, 1), phones: ["cab", "other"] }, marks: [...marks, { ...mark("lever", MINUTE, { lever: "up" }), phone: "other" }], skipped: [], notes: [] };
  };

  it("leave on this one what it saw itself, what the other saw at other times, and every answer", () => {
    const own = alone(both(), "cab");
    expect(Array.from(own.fixes.t_ms, (t) => t / MINUTE)).toEqual([0, 1, 2, 90]);
    expect(own.marks.map(({ kind, phone, t_ms }) => [kind, phone, t_ms / MINUTE])).toEqual([["lever", "cab", 0.5], ["blind", "other", 1], ["lever", "other", 90]]);
  });

  it("lose nothing where this phone saw nothing at all", () => {
    expect(alone(both(), "third").fixes.t_ms).toHaveLength(6);
    expect(alone(both(), "third").marks).toHaveLength(4);
  });
});

describe("rig cards", () => {
  const card = (id: string, made_ms: number): PackRig => ({ id, name: id.toUpperCase(), version: 1, made_ms, chain: [{ from_ms: null, name: id } as PackRig["chain"][number]] });

  it("are those that were named, each from its time on", () => {
    const rigs = rigsFor([mark("rig", 50, { card: "B" }), mark("rig", 90, { card: "a" }), mark("rig", 95, { card: "none such" })], [card("a", 1), card("b", 2)]);
    expect(rigs.map(({ name, from_ms }) => [name, from_ms])).toEqual([["b", null], ["a", 90]]);
  });

  it("show the one that holds now as chosen", () => {
    const cards = [card("a", 5), card("b", 2)];
    expect(inUse([], cards)?.id).toBe("a");
    expect(inUse([mark("rig", 50, { card: "a" }), mark("rig", 90, { card: "B" }), mark("rig", 95, { card: "none such" })], cards)?.id).toBe("b");
    expect(inUse([], [])).toBeNull();
  });

  it("are the one saved last where none was named", () => {
    expect(rigsFor([], [card("a", 5), card("b", 2)]).map(({ name }) => name)).toEqual(["a"]);
    expect(rigsFor([], [])).toEqual([]);
  });
});

describe("a patch", () => {
  const at = PLANE.degrees(5, 5);
  const patch = (x: number): Found => ({ outline: [square(x, 0, 10)], area_m2: 100.04, chance: 0.955, lon_deg: at[0], lat_deg: at[1] }) as unknown as Found;
  const sums = { paddock: { id: "p", name: "P" }, lat0_deg: PLANE.lat0_deg, lon0_deg: PLANE.lon0_deg } as Sums;

  it("that was decided is found again by its place, whatever its number", () => {
    const entry = decided(patch(0), "sown", sums, "bare patch", 7);
    expect(entry).toMatchObject({ kind: "say", about: "patch", answer: "sown", paddock: "p", area_m2: 100, t_ms: 7 });
    const { kind, t_ms, ...says } = entry;
    const [again, other] = [patch(1), patch(60)];
    const known = decisions([again, other], [mark(kind, t_ms, says), mark("say", 9, { ...says, answer: "leave" }, 2)], sums);
    expect(known.get(again)).toBe("leave");
    expect(known.has(other)).toBe(false);
  });

  it("comes after the one that is nearest to it", () => {
    const order = inOrder([patch(200), patch(0), patch(100)], [-50, 0]);
    expect(order.map(({ outline }) => outline[0]?.[0])).toEqual([0, 100, 200]);
  });
});

it("asks in words of its own whatever can be asked", () => {
  const kinds = ["forgotten-up", "forgotten-down", "run-without-tap", "inverted", "flow", "blind", "oops-down", "oops-up"];
  for (const kind of kinds) {
    const asked = words({ number: 1, kind, from_ms: 0, to_ms: 90_000, lon_deg: 0, lat_deg: 0, answers: {} });
    expect(asked, kind).toMatch(/\?$/);
  }
});

describe("a question", () => {
  const asked = { number: 1, kind: "blind", from_ms: 1, to_ms: 2, lon_deg: 0, lat_deg: 0, answers: { down: 1, up: 0, unsure: 0 } };

  it("about a blind stretch is answered by a blind entry, any other by what was said", () => {
    expect(answerOf(asked, "down", "?", "p", 9)).toEqual({ kind: "blind", t_ms: 9, from_ms: 1, to_ms: 2, answer: "down", paddock: "p" });
    expect(answerOf({ ...asked, kind: "inverted" }, "swapped", "?", null, 9)).toEqual({ kind: "say", about: "inverted", prompt: "?", t_ms: 9, from_ms: 1, to_ms: 2, answer: "swapped" });
  });
});

describe("seed that stopped before anybody heard it", () => {
  const asked = { number: 1, kind: "flow", from_ms: 0, to_ms: 150_000, lon_deg: 0, lat_deg: 0, answers: { down: 3000, up: 0, unsure: 0 } };

  it("may have stopped any time since the tool went down, and what that leaves bare is said", () => {
    expect(sinces(asked)).toEqual([{ seconds: 30, m2: 600 }, { seconds: 60, m2: 1200 }, { seconds: 90, m2: 1800 }]);
    expect(sinces({ ...asked, kind: "blind" })).toEqual([]);
  });

  it("is said by the entry that was pressed, again and with since when, and the first is taken back", () => {
    const pressed = mark("flow", 150_003, { flow: "off" }, 7);
    expect(stopped([mark("flow", 90_000, { flow: "off" }), pressed, mark("flow", 150_003, { flow: "off", since_ms: 1 }, 8)], asked)).toBe(pressed);
    expect(stopped([mark("flow", 150_000, { flow: "on" })], asked)).toBeNull();
    const [again, undo] = sinceEntries(pressed, 90, "cab", 900_000);
    expect(again).toEqual({ kind: "flow", t_ms: 150_003, clock_ms: 900_000, flow: "off", since_ms: 60_003 });
    expect(undo).toEqual({ kind: "undo", t_ms: 900_000, of: 7 });
    expect(sinceEntries(pressed, 90, "other", 1)[1]).toEqual({ kind: "undo", t_ms: 1, of: 7, of_dev: "cab" });
  });
});

describe("a stopwatch", () => {
  it("counts from the lever, and seed from the meter to the last opener", () => {
    expect(timesOf("seed", [1000, 1900, 6900])).toEqual({ meter_s: 0.9, fill_s: 5 });
    expect(timesOf("lift", [0, 600, 4600])).toEqual({ raise_s: 0.6, drain_s: 4.6 });
    expect(timesOf("points", [0])).toEqual({});
  });

  it("says no spread of fewer than three", () => {
    const trial = (ms: number) => ({ trial: "points" as const, presses: [0, ms] });
    expect(measured([trial(1700), trial(1900)]).get("lower_s")).toEqual({ mean_s: expect.closeTo(1.8, 9), spread_s: null, n: 2 });
    expect(measured([trial(1700), trial(1800), trial(1900)]).get("lower_s")?.spread_s).toBeCloseTo(0.1, 9);
  });

  it("writes what it measured under the rig card's names", () => {
    const seed = (fill: number) => ({ trial: "seed" as const, presses: [0, 900, 900 + fill] });
    expect(entryOf({ name: "Long drill", version: 2 }, measured([seed(4400), seed(5000), seed(5600)]), 7)).toMatchObject({ kind: "say", about: "times", prompt: "timing trial of Long drill, version 2", meter_s: 0.9, fill_s: 5, fill_spread_s: 0.6 });
  });
});

describe("places", () => {
  it("at a peg are the mean of what came, and how far that was spread", () => {
    const spots = [[0, 0], [2, 0], [0, 2], [2, 2]].map(([x, y]) => PLANE.degrees(x ?? 0, y ?? 0)).map(([lon_deg, lat_deg]) => ({ lon_deg, lat_deg }));
    const mean = meanOf(spots);
    const [x, y] = PLANE.point(mean?.lon_deg ?? 0, mean?.lat_deg ?? 0);
    expect([x, y]).toEqual([expect.closeTo(1, 3), expect.closeTo(1, 3)]);
    expect(mean?.spread_m).toBeCloseTo(Math.SQRT2, 3);
    expect(meanOf([])).toBeNull();
  });

  it("abeam lie square to the course", () => {
    const [lon_deg, lat_deg] = PLANE.degrees(0, 0);
    const left = abeam({ lon_deg, lat_deg, course_deg: 90 }, "left", 10);
    const [x, y] = PLANE.point(left.lon_deg, left.lat_deg);
    expect([x, y]).toEqual([expect.closeTo(0, 3), expect.closeTo(10, 3)]);
  });

  it("marked as keep-outs are circles, and a wet one ends", () => {
    const [lon_deg, lat_deg] = PLANE.degrees(0, 0);
    const says = { what: "wet", note: "keep-out", lon_deg, lat_deg, radius_m: 3, until_ms: 900 };
    const outs = outsMarked([mark("mark", 100, says), mark("mark", 100, { ...says, note: "" }), mark("hidden", 100, says), mark("mark", 100, { ...says, radius_m: 0 })]);
    expect(outs).toHaveLength(1);
    expect(outs[0]).toMatchObject({ kind: "wet", until_ms: 900, hazard: false });
    const ring = PLANE.areaToXy(outs[0]?.area ?? [])[0]?.[0] ?? new Float64Array(0);
    for (let i = 0; i < ring.length; i += 2) expect(Math.hypot(ring[i] ?? 0, ring[i + 1] ?? 0)).toBeCloseTo(3, 3);
  });
});

describe("prices", () => {
  it("are read as people type them, and nothing else is", () => {
    expect(["1150", "180,5", " 1 150 "].map(numberOf)).toEqual([1150, 180.5, 1150]);
    expect(["", "-3", "ten", "1e9"].map(numberOf)).toEqual([null, null, null, null]);
  });
});
