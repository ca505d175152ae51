import { blocks } from "../../../web/src/cab/after";
import { partOf, type Role } from "../../../web/src/cab/role";
import { alsoKeeping } from "../../../web/src/core/also";
import type { Handed } from "../../../web/src/carry/handing";
import { dated } from "../../../web/src/cab/say";
import type { Fixes } from "../../../web/src/core/words";

const NONE: Role = { passed: null, offered: null, taken: null, pin: "" };
const HANDED: Handed = { dev: "first", seq: 9, at_ms: 1, lever: "up", driver: "", script: "", pin: "", before: [] };

describe("a phone's part", () => {
  it("is to log, until it handed the log on, or took one in that nobody goes on from yet", () => {
    expect(partOf(NONE, "keeper")).toBe("keeper");
    expect(partOf({ ...NONE, passed: { at_ms: 1, seq: 9 } }, "keeper")).toBe("passed");
    expect(partOf({ ...NONE, offered: HANDED }, "keeper")).toBe("offered");
    expect(partOf({ ...NONE, taken: HANDED }, "keeper")).toBe("keeper");
  });

  it("is to look where home says so, until it goes on from a handover", () => {
    expect(partOf(NONE, "rider")).toBe("rider");
    expect(partOf({ ...NONE, taken: HANDED }, "rider")).toBe("keeper");
  });
});

function fixes(rows: readonly (readonly [number, number])[], apart_deg = 0): Fixes {
  const t_ms = Float64Array.from(rows, ([t_s]) => t_s * 1000);
  const none = new Float64Array(rows.length);
  return { t_ms, lat_deg: Float64Array.from(rows, ([, phone]) => 49.73 + phone * apart_deg), lon_deg: none, acc_m: none, speed_m_s: none, course_deg: none, phone: Int32Array.from(rows, ([, phone]) => phone), segment: new Int32Array(rows.length), phones: ["mine", "other"] };
}
const span = (from: number, to: number, phone: number): [number, number][] => Array.from({ length: to - from }, (_, i) => [from + i, phone]);

describe("two keepers", () => {
  it("are noticed where both logged for a minute, whoever began", () => {
    expect(alsoKeeping(fixes([...span(0, 300, 0), ...span(200, 500, 1)]), "mine")).toBe("other");
    expect(alsoKeeping(fixes([...span(200, 500, 1), ...span(0, 300, 0)]), "mine")).toBe("other");
  });

  it("are none where the other one rides on another rig", () => {
    expect(alsoKeeping(fixes([...span(0, 300, 0), ...span(0, 300, 1)], 0.0004), "mine")).toBe("other"); // 45 m
    expect(alsoKeeping(fixes([...span(0, 300, 0), ...span(0, 300, 1)], 0.001), "mine")).toBe(null);
  });

  it("are none where one goes on from the other, nor where this one logged nothing", () => {
    expect(alsoKeeping(fixes([...span(0, 300, 1), ...span(310, 600, 0)]), "mine")).toBe(null);
    expect(alsoKeeping(fixes(span(0, 300, 1)), "mine")).toBe(null);
    expect(alsoKeeping(fixes([]), "mine")).toBe(null);
  });
});

describe("stops of the way back", () => {
  it("of one patch, or of two by turns, are told as one", () => {
    expect(blocks([0, 0, 1])).toEqual([[0, 1], [2]]);
    expect(blocks([0, 1, 0, 2])).toEqual([[0, 1, 2], [3]]);
    expect(blocks([])).toEqual([]);
  });
});

describe("a moment of what is handed over", () => {
  it("bears its day unless that is today: a picture of yesterday must not look like this morning's", () => {
    const noon = new Date();
    noon.setHours(12, 0, 0, 0);
    expect(dated(noon.getTime())).toBe("12:00");
    const before = new Date(noon.getTime());
    before.setDate(before.getDate() - 1);
    expect(dated(before.getTime())).toMatch(new RegExp(`^${before.getDate()} [A-Z][a-z]+.* 12:00$`));
  });
});
