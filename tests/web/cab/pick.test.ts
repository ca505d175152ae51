// What of a log with several phones belongs to a count: whose clock holds, and which card each rig has.
import type { PackRig } from "../../../web/src/carry/pack";
import { alone, namedFor, ownFirst, rigsByPhone } from "../../../web/src/cab/pick";
import { oneClock } from "../../../web/src/core/join";
import { Plane } from "../../../web/src/core/plane";
import type { Fixes, Log, Mark } from "../../../web/src/core/words";
import { rigOf } from "../core/made";

const T0 = 1_777_636_800_000;
const PLANE = new Plane(49.73, -106.21);
const card = (id: string, width_m: number): PackRig => ({ id, name: `drill ${id}`, version: 1, made_ms: 1, chain: [rigOf({ name: id, tool: { width_m } })] });
const CARDS = [card("big", 8.4), card("small", 6)];
const names = (phone: string, named: string, t_ms = T0): Mark => ({ t_ms, kind: "rig", phone, seq: 1, says: { card: named } });

/** Fixes a second of two phones in one cab: there and back, the second one's clock ahead. */
function cab(phones: readonly [string, string], ahead_s: number): Fixes {
  const seconds = 1500;
  const rows = [0, 1].flatMap((phone) =>
    Array.from({ length: seconds }, (_, s) => {
      // legs of different length, so that it is like itself at no other time
      const way = 2 * s;
      const turn = Math.sin(s / 37) + Math.sin(s / 101);
      const [lon, lat] = PLANE.degrees(40 * turn + way / 10, phone + 60 * Math.cos(s / 59));
      return { t: T0 + 1000 * (s + phone * ahead_s), lon, lat, phone };
    }),
  );
  const none = new Float64Array(rows.length).fill(Number.NaN);
  return {
    t_ms: Float64Array.from(rows, (row) => row.t),
    lat_deg: Float64Array.from(rows, (row) => row.lat),
    lon_deg: Float64Array.from(rows, (row) => row.lon),
    acc_m: none,
    speed_m_s: none,
    course_deg: none,
    phone: Int32Array.from(rows, (row) => row.phone),
    segment: new Int32Array(rows.length),
    phones,
  };
}
const logOf = (fixes: Fixes, marks: readonly Mark[] = []): Log => ({ fixes, marks, skipped: [], notes: [] });

describe("two phones in one cab", () => {
  it("are counted on this phone's own clock, so that what is asked and answered keeps its time", () => {
    const answer: Mark = { t_ms: T0, kind: "say", phone: "ours", seq: 2, says: { from_ms: T0 + 5000, to_ms: T0 + 9000 } };
    for (const other of ["above", "zebra"]) {
      for (const phones of [["ours", other], [other, "ours"]] as const) {
        const given = logOf(cab(phones, 240), [answer]);
        const { log, clocks } = oneClock(ownFirst(given, "ours"), PLANE);
        expect(clocks.map(({ phone }) => phone)).toEqual([other]);
        expect(Math.abs(Math.abs(clocks[0]?.ahead_s ?? 0) - 240)).toBeLessThan(0.3);
        expect(log.marks).toEqual([answer]);
      }
    }
  });
});

describe("the rig card of each phone", () => {
  it("is the one that it named last before the work, and those that it named while it lasted", () => {
    const { fixes } = logOf(cab(["a", "b"], 0));
    const marks = [names("a", "small", T0 - 9e6), names("a", "big", T0 - 5e6), names("a", "small", T0 + 1000), names("b", "big", T0 + 9e6), names("c", "big", T0)];
    const found = namedFor(logOf(fixes, marks), logOf(fixes));
    expect(found.map(({ t_ms }) => t_ms - T0)).toEqual([-5e6, 1000]);
  });

  it("is shared by phones that named the same, and is nobody's where a phone named one that is not here", () => {
    const rigs = rigsByPhone([names("a", "big"), names("b", "drill big"), names("c", "small"), names("d", "lost")], CARDS);
    expect(rigs.map(({ name, phones }) => [name, phones])).toEqual([["big", ["a", "b"]], ["small", ["c"]]]);
  });

  it("changes at the time that a phone said so, for that phone alone", () => {
    const rigs = rigsByPhone([names("a", "big"), names("a", "small", T0 + 60_000), names("b", "big")], CARDS);
    expect(rigs.map(({ name, from_ms, phones }) => [name, from_ms, phones])).toEqual([
      ["big", null, ["a"]],
      ["small", T0 + 60_000, ["a"]],
      ["big", null, ["b"]],
    ]);
  });
});

describe("a phone that counts its own rig alone", () => {
  it("leaves out what another phone saw while it was at work, and keeps what that saw before", () => {
    const fixes = cab(["ours", "theirs"], 0);
    const early = { ...fixes, t_ms: fixes.t_ms.map((t, i) => (fixes.phone[i] === 1 && i % 2 === 0 ? t - 86_400_000 : t)) };
    const left = alone(logOf(early, [names("theirs", "big", T0 + 60_000), names("ours", "small", T0 + 60_000)]), "ours");
    const theirs = Array.from(left.fixes.t_ms).filter((_, i) => left.fixes.phone[i] === 1);
    expect(theirs).toHaveLength(750);
    expect(Math.max(...theirs)).toBeLessThan(T0);
    expect(left.marks.map(({ phone }) => phone)).toEqual(["ours"]);
  });
});
