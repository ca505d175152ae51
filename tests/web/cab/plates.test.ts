import { PLATE, plates, type Placed, type Spot } from "../../../web/src/cab/gate/plates";
import type { Found } from "../../../web/src/cab/sums";

const [WIDE, HIGH] = [330, 300];
const shown = (all: readonly Placed[]): Placed[] => all.filter(({ tight }) => !tight);
const off = (a: Placed, x: number, y: number): number => Math.max(Math.abs(a.x - x), Math.abs(a.y - y));

/** Patches close together in a lattice, so many to a side. */
function crowd(side: number): Spot[] {
  return Array.from({ length: side * side }, (_, k): Spot => {
    const [x, y] = [60 + (90 * (k % side)) / (side - 1), 50 + (90 * Math.floor(k / side)) / (side - 1)];
    const ring = [x - 2, y - 2, x + 2, y - 2, x + 2, y + 2, x - 2, y + 2, x - 2, y - 2];
    return { number: k + 1, patch: { outline: [Float64Array.from(ring)] } as unknown as Found };
  });
}
const placed = (side: number, here: readonly [number, number] | null = null): Placed[] => plates(crowd(side), (x, y) => [x, y], WIDE, HIGH, here);

test("a few numbers all show", () => {
  expect(placed(3).filter(({ tight }) => tight)).toEqual([]);
});

test("on a crowded map no number that shows lies on another, and each stands near its patch", () => {
  const all = placed(6);
  const seen = shown(all);
  expect(all.map(({ spot }) => spot.number)).toEqual(Array.from({ length: 36 }, (_, k) => k + 1));
  expect(seen.length).toBeGreaterThan(12);
  expect(seen.length).toBeLessThan(36);
  for (const one of seen) {
    expect(off(one, ...one.to)).toBeLessThan(60);
    for (const other of seen) if (other !== one) expect(off(one, other.x, other.y)).toBeGreaterThan(2 * PLATE);
  }
});

test("the numbers that come first, those of the way, find their place first", () => {
  expect(placed(6).slice(0, 6).map(({ tight }) => tight)).toEqual([false, false, false, false, false, false]);
});

test("no number lies where one stands", () => {
  const [first] = placed(2);
  if (first === undefined) throw new Error("a number was expected");
  const there = [first.x, first.y] as const;
  expect(placed(2, there).map((one) => off(one, ...there) > PLATE)).toEqual([true, true, true, true]);
});
