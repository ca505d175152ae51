// What the desk works out itself of money, bins and rates: times of day, entries, numbers typed in.
import { outEntries } from "../../web/src/desk/bins/out";
import { above, catchesOf } from "../../web/src/desk/rates/formula";
import { inDrivingOrder } from "../../web/src/desk/sheet/worth";
import type { Patch } from "../../web/src/desk/nouns";
import type { Group, Label, Way, Worth } from "../../web/src/desk/upshot";
import { dayOf, momentAt } from "../../web/src/desk/when";

describe("a time of day on the farm's clock", () => {
  it("is that of the farm's zone, and of the next morning before the day starts", () => {
    // Regina keeps UTC−6 all year
    expect(momentAt("2026-05-14", "14:20", "America/Regina", "04:00")).toBe(Date.UTC(2026, 4, 14, 20, 20));
    expect(momentAt("2026-05-14", "3.05", "America/Regina", "04:00")).toBe(Date.UTC(2026, 4, 15, 9, 5));
    expect(momentAt("2026-05-14", "14:20", "UTC", "04:00")).toBe(Date.UTC(2026, 4, 14, 14, 20));
  });

  it("holds on both sides of a change to summer time", () => {
    // Berlin went from UTC+1 to UTC+2 on 29 March 2026 at 02:00
    expect(momentAt("2026-03-28", "12:00", "Europe/Berlin", "04:00")).toBe(Date.UTC(2026, 2, 28, 11));
    expect(momentAt("2026-03-29", "12:00", "Europe/Berlin", "04:00")).toBe(Date.UTC(2026, 2, 29, 10));
    expect(momentAt("2026-03-28", "01:30", "Europe/Berlin", "04:00")).toBe(Date.UTC(2026, 2, 29, 0, 30));
    expect(momentAt("2026-03-28", "03:30", "Europe/Berlin", "04:00")).toBe(Date.UTC(2026, 2, 29, 1, 30));
  });

  it("is nothing where it is no time or no day", () => {
    for (const time of ["noon", "25:00", "12:60", "", "12"]) expect(momentAt("2026-05-14", time, "UTC", "04:00")).toBe(null);
    expect(momentAt("someday", "12:00", "UTC", "04:00")).toBe(null);
  });

  it("belongs to the farm day that had begun", () => {
    expect(dayOf(Date.UTC(2026, 4, 15, 9, 59), "America/Regina", "04:00")).toBe("2026-05-14");
    expect(dayOf(Date.UTC(2026, 4, 15, 10, 0), "America/Regina", "04:00")).toBe("2026-05-15");
  });
});

describe("where a bin ran out", () => {
  it("is doubt within the band and bare from then until it was found, and no longer", () => {
    const made = outEntries({ from_ms: 1000, at_ms: 2000, to_ms: 3000 }, 9000, "seed", "p1");
    expect(made).toMatchObject([{ t_ms: 9000, flow: "off", since_ms: 2000, since_spread_ms: 1000 }, { t_ms: 10_000, flow: "on" }]);
    expect(made.every(({ kind, paddock }) => kind === "flow" && paddock === "p1")).toBe(true);
  });

  it("is doubt alone where it was found within the band, or the band has no end yet", () => {
    expect(outEntries({ from_ms: 1000, at_ms: null, to_ms: 3000 }, 2000, "seed", "p1")[0]).toMatchObject({ since_ms: 1500, since_spread_ms: 500 });
    expect(outEntries({ from_ms: 1000, at_ms: null, to_ms: null }, 2000, "seed", "p1")[0]).toMatchObject({ since_ms: 1500, since_spread_ms: 500 });
  });
});

describe("numbers typed in", () => {
  it("are above nought, with a point or a comma", () => {
    expect(above(" 2,94 ")).toBe(2.94);
    for (const text of ["", "0", "-1", "x", undefined]) expect(above(text)).toBeNaN();
  });

  it("are catches only where every one is a number", () => {
    expect(catchesOf("2.94 2,90;2.97")).toEqual([2.94, 2.9, 2.97]);
    for (const text of ["", "2.9 x", "2.9 0"]) expect(catchesOf(text)).toEqual([]);
  });
});

describe("patches in driving order", () => {
  const patch = (number: number): Patch => ({ number, area_m2: 100, chance: 1, call: "sure", kind: "corner", lon: 0, lat: 0, width_m: 1, length_m: 1 });
  const group = (label: Label, ...patches: number[]): Group => ({ patches, label, value: 1, cost: 0, net: 1, seconds: 60, left_m2: 0, runs: [{}] });
  const stop = (at: number): Way["stops"][number] => ({ group: at, run: { from_side: "north", length_m: 10, covers: {}, line: [] } });
  const now: Way = { net: 1, seconds: 60, blocked: false, worth_m2: 1, way: [], blocks: [], groups: [group("leave", 1), group("worth it", 2), group("look first", 3), group("ask first", 4, 5), group("your call", 6)], stops: [stop(3), stop(1), stop(3)] };
  const worth: Worth = { trip_s: 60, currency: "", examples: [], now, later: null };

  it("come as they are driven to, then what is somebody's call, to look at, and to leave", () => {
    expect(inDrivingOrder([1, 2, 3, 4, 5, 6, 7].map(patch), worth).map(({ number }) => number)).toEqual([4, 5, 2, 6, 3, 1, 7]);
  });

  it("stay as they are where nothing was weighed", () => {
    expect(inDrivingOrder([patch(2), patch(1)], null).map(({ number }) => number)).toEqual([2, 1]);
  });
});
