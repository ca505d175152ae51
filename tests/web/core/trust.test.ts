// Whether a reported speed is believed; the vectors of `clean` hold the rest against home's engine.
import { belied, fits } from "../../../web/src/core/speed";

/** A drive at 2 m/s with a stand in its middle, a fix a second. */
function drive(before: number, stood: number, after: number): { t: Float64Array; x: Float64Array; y: Float64Array } {
  const t = Float64Array.from({ length: before + stood + after }, (_, i) => i);
  const x = t.map((s) => 2 * Math.min(s, before) + 2 * Math.max(s - before - stood, 0));
  return { t, x, y: new Float64Array(t.length) };
}

describe("a reported speed", () => {
  it("that never changes is not believed on a stand", () => {
    const { t, x, y } = drive(150, 120, 150);
    expect(fits(t, x, y, new Float64Array(t.length).fill(2), 0.1)).toBe(false);
  });

  it("that never changes is believed while it drives", () => {
    const { t, x, y } = drive(150, 0, 150);
    expect(fits(t, x, y, new Float64Array(t.length).fill(2), 0.1)).toBe(true);
  });

  it("of nought is kept over a leap of the picture on a stand", () => {
    const { t, x, y } = drive(50, 120, 50);
    const told = t.map((s) => (s > 49 && s <= 170 ? 0 : 2));
    const leapt = x.map((east, i) => (i > 90 && i < 130 ? east + 9 : east));
    expect(belied(t, leapt, y, told, 0.1)).toEqual([]);
    expect(belied(t, x, y, told.fill(0, 10, 12), 0.1)).toEqual([10, 11]);
  });
});
