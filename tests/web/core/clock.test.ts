// A clock set while the log was being written, on the phone: as tests/core/test_clock.py at home.
import { Gathering, type Line } from "../../../web/src/formats/log";
import type { Log } from "../../../web/src/core/words";

const START_MS = 1_777_636_800_000;
const COUNT = 1000;
const TRUE = Array.from({ length: COUNT }, (_, k) => k);
type Said = Record<string, unknown> & { readonly kind: string; readonly t_ms: number };

/** A phone driven north at 2 m/s, a fix a second, a tap each 100 s; `off` is its clock's error, s. */
function entries(off: (k: number) => number, speed_m_s?: number): Said[] {
  return TRUE.flatMap((k): Said[] => {
    const t_ms = START_MS + 1000 * (k + off(k));
    const fix = { kind: "fix", t_ms, lat_deg: 49 + (2 * k) / 111_195, lon_deg: -106, acc_m: 2, speed_m_s };
    return k % 100 === 50 ? [fix, { kind: "lever", t_ms: t_ms + 400, lever: k % 200 === 50 ? "down" : "up" }] : [fix];
  });
}

/** As it lies on the shelf: fixes apart from other entries, and parts in any order. */
function read(said: readonly Said[]): Log {
  const out = new Gathering();
  const lines = said.map((one, at) => ({ v: 1, dev: "cab", seq: at + 1, ...one }) as unknown as Line);
  const half = lines.length >> 1;
  for (const part of [lines.slice(half), lines.slice(0, half)]) {
    for (const line of part) if (line.kind === "lever") out.add(line);
    for (const line of part) if (line.kind !== "lever") out.add(line);
  }
  return out.log();
}

const seconds = ({ fixes }: Log): number[] => Array.from(fixes.t_ms, (t) => (t - START_MS) / 1000).toSorted((a, b) => a - b);
const taps = ({ marks }: Log): number[] => marks.filter((mark) => mark.kind === "lever").map((mark) => (mark.t_ms - START_MS) / 1000);
const TAPS = TRUE.filter((k) => k % 100 === 50).map((k) => k + 0.4);

describe("a clock set while the log was written", () => {
  it.each([-41, -3600, -5])("by %d s back leaves fixes and taps in the order written", (set_s) => {
    for (const speed of [2, undefined]) {
      const log = read(entries((k) => (k >= 500 ? set_s : 0), speed));
      expect(seconds(log)).toEqual(TRUE);
      expect(taps(log)).toEqual(TAPS);
    }
  });

  it("is told with when and by how much; a clock that nobody set is not", () => {
    const [reset, ...more] = read(entries((k) => (k >= 500 ? -3600 : 0), 2)).resets ?? [];
    expect(more).toEqual([]);
    expect([reset?.t_ms, Math.round(reset?.set_s ?? 0)]).toEqual([START_MS + 499_000, -3600]);
    expect(read(entries(() => 0, 2)).resets ?? []).toEqual([]);
  });

  it("ahead and back again is put back for that while", () => {
    const log = read(entries((k) => (k >= 300 && k < 700 ? 3600 : 0), 2));
    expect(seconds(log)).toEqual(TRUE);
    expect(taps(log)).toEqual(TAPS);
  });

  it("back and right again is on its first clock all day", () => {
    expect(seconds(read(entries((k) => (k >= 300 && k < 700 ? -600 : 0), 2)))).toEqual(TRUE);
  });

  it("leaves an answer about an earlier moment where it was shown, and moves what is said of now", () => {
    const made = entries((k) => (k >= 500 ? -3600 : 0), 2);
    const now = made[made.length - 1]?.t_ms ?? 0;
    const about = { kind: "say", t_ms: START_MS + 120_000, answer: "down", from_ms: START_MS + 100_000, to_ms: START_MS + 140_000 };
    const { marks } = read([...made, about, { kind: "flow", t_ms: now, flow: "off", since_ms: now - 86_000 }]);
    const say = marks.find((mark) => mark.kind === "say");
    const flow = marks.find((mark) => mark.kind === "flow");
    expect([say?.t_ms, say?.says["from_ms"]]).toEqual([about.t_ms, about.from_ms]);
    expect([flow?.t_ms, flow?.says["since_ms"]]).toEqual([now + 3_600_000, now + 3_514_000]);
  });

  it("moves nothing for a stale position, nor where times go back again and again", () => {
    const stale = entries((k) => (k === 700 ? -600 : 0), 2);
    expect(seconds(read(stale))).toContain(100);
    expect(seconds(read(stale)).filter((s) => s === 100).length).toBe(2);
    const wild = entries((k) => -60 * Math.floor(k / 100), 2);
    expect(Math.max(...seconds(read(wild)))).toBeLessThan(COUNT - 300);
  });
});
