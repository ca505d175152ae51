import { across, around, closer, downSpans, momentAt, nearest, thinned, ticks, within } from "../../web/src/desk/time/span";

const day = { from: 0, to: 10 * 3_600_000 };

describe("the stretch of the day that is looked at", () => {
  it("a moment and its place across the line are each other's inverse", () => {
    const span = { from: 600_000, to: 1_800_000 };
    expect(momentAt(across(900_000, span, 800), span, 800)).toBeCloseTo(900_000, 6);
  });

  it("never leaves the day, and is moved rather than cut", () => {
    expect(within({ from: -60_000, to: 240_000 }, day)).toEqual({ from: 0, to: 300_000 });
    expect(within({ from: day.to - 60_000, to: day.to + 240_000 }, day)).toEqual({ from: day.to - 300_000, to: day.to });
  });

  it("looking closer keeps the moment under the hand in its place", () => {
    const span = { from: 3_600_000, to: 7_200_000 };
    const near = closer(span, day, 0.5, 4_500_000);
    expect(near.to - near.from).toBe(1_800_000);
    expect(across(4_500_000, near, 1)).toBeCloseTo(across(4_500_000, span, 1), 9);
  });

  it("looks no closer than a minute and no farther than the day", () => {
    expect(closer({ from: 0, to: 80_000 }, day, 0.1)).toEqual({ from: 10_000, to: 70_000 });
    expect(closer({ from: 0, to: day.to }, day, 3)).toEqual(day);
  });

  it("shows a question with as much again on both sides", () => {
    expect(around({ from: 3_600_000, to: 3_900_000 }, day, 60_000)).toEqual({ from: 3_300_000, to: 4_200_000 });
  });
});

describe("what the line shows", () => {
  const tap = (t_ms: number, lever: "down" | "up", hidden = false) => ({ t_ms, lever, hidden });

  it("a second down is no new run, a hidden tap is none, and the last may be open", () => {
    const taps = [tap(10, "down"), tap(20, "down"), tap(30, "up"), tap(40, "down"), tap(50, "up", true)];
    expect(downSpans(taps, 100)).toEqual([{ from: 10, to: 30 }, { from: 40, to: 100 }]);
  });

  it("marks of time stand at round times and do not crowd", () => {
    const found = ticks({ from: 61_000, to: 661_000 }, 400);
    expect(found).toEqual([120_000, 240_000, 360_000, 480_000, 600_000]);
  });

  it("thinning keeps the fastest of each group and leaves gaps out", () => {
    const points: [number, number | null][] = [[0, 1], [1, 3], [2, null], [3, 2], [4, 5]];
    expect(thinned(points, { from: 0, to: 4 }, 2)).toEqual([[1, 3], [4, 5]]);
  });

  it("finds the nearest position, or none where none is near", () => {
    const rows: [number, number][] = [[0, 1], [1_000, 2], [90_000, 3]];
    expect(nearest(rows, 700)).toEqual([1_000, 2]);
    expect(nearest(rows, 45_000)).toBeNull();
    expect(nearest([], 5)).toBeNull();
  });
});
