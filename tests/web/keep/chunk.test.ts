import { seal, unseal } from "../../../web/src/keep/chunk";
import type { Draft, Entry } from "../../../web/src/keep/entry";
import { fix, lever, T0 } from "./made";

const numbered = (drafts: readonly Draft[], first = 1, dev = "cab"): Entry[] =>
  drafts.map((draft, at) => {
    const { kind, t_ms, clock_ms, ...says } = draft as Draft & { clock_ms?: number };
    const clock = clock_ms === undefined ? {} : { clock_ms };
    return { v: 1, dev, seq: first + at, t_ms, ...clock, kind, ...says } as unknown as Entry;
  });

const lines = (entries: readonly Entry[]): string[] => entries.map((entry) => JSON.stringify(entry));

describe("a chunk", () => {
  it("gives back every entry as it was, byte for byte, in the order of the numbers", () => {
    const entries = numbered(
      [
        fix(0),
        lever(0.5, "down"),
        fix(1, { speed_m_s: 2.08, course_deg: 0, clock_ms: T0 + 1012 }),
        { kind: "say", t_ms: T0 + 1500, prompt: "Since when? “½”", answer: "down" },
        fix(2, { segment: 3, acc_m: 0 }),
        { ...fix(3), altitude_m: 712.5 } as unknown as Draft,
        { kind: "undo", t_ms: T0 + 4000, of: 2 },
        fix(1.1, { lat_deg: -49.730_000_123_456_7, lon_deg: 179.999_999_999 }),
      ],
      17,
    );
    expect(lines(unseal(seal(entries)))).toEqual(lines(entries));
  });

  it("gives back any number that a log can hold", () => {
    let state = 12345;
    const random = (): number => (state = (state * 1_103_515_245 + 12_345) % 2_147_483_648) / 2_147_483_648;
    for (let round = 0; round < 50; round++) {
      const drafts = Array.from({ length: 1 + Math.floor(random() * 40) }, (_, at) => {
        if (random() < 0.2) return lever(at, random() < 0.5 ? "down" : "up");
        const some = (value: number, key: string): object => (random() < 0.5 ? { [key]: value } : {});
        return {
          ...fix(at, { lat_deg: (random() - 0.5) * 180, lon_deg: (random() - 0.5) * 1e-7 }),
          ...some(random() * 1e9, "acc_m"), ...some(-random() * 1e-300, "speed_m_s"), ...some(Math.floor(random() * 360), "course_deg"),
          ...some(T0 + at, "clock_ms"),
        } as Draft;
      });
      const entries = numbered(drafts, 1 + Math.floor(random() * 1e9));
      expect(lines(unseal(seal(entries)))).toEqual(lines(entries));
    }
  });

  it("knows from when to when its entries are, whatever order they were written in", () => {
    const chunk = seal(numbered([fix(60), fix(10), lever(90, "up")]));
    expect([chunk.from_ms, chunk.to_ms]).toEqual([T0 + 10_000, T0 + 90_000]);
  });

  it("refuses entries with a gap between their numbers, or of two writers", () => {
    expect(() => seal([...numbered([fix(0)], 1), ...numbered([fix(1)], 3)])).toThrow("cannot hold cab 3");
    expect(() => seal([...numbered([fix(0)], 1), ...numbered([fix(1)], 2, "ute")])).toThrow("cannot hold ute 2");
    expect(() => seal([])).toThrow("at least one");
  });
});
