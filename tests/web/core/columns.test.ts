// What columns are asked: the answers numpy gives, on numbers of every kind.
import { Chance } from "../../../web/src/core/chance";
import {
  byKey,
  firstAbove,
  firstNotBelow,
  halfToEven,
  interp,
  linspace,
  median,
  modulo,
  order,
  quantile,
  runningMedian,
  turned,
  unwrap,
} from "../../../web/src/core/columns";

/** Columns of many lengths, with ties. */
function columns(): Float64Array[] {
  const chance = new Chance(3);
  return [1, 2, 3, 4, 7, 30, 31, 200].flatMap((n) => [
    chance.normals(n),
    // without a minus before nought
    chance.normals(n).map((v) => Math.round(2 * v) + 0),
    new Float64Array(n).fill(1.5),
  ]);
}

/** The values in order, one put in after another. */
function ordered(a: Float64Array): number[] {
  const out: number[] = [];
  for (const v of a) {
    const at = out.findIndex((w) => w > v);
    out.splice(at < 0 ? out.length : at, 0, v);
  }
  return out;
}

describe("columns", () => {
  it("have the median that sorting shows", () => {
    for (const a of columns()) {
      const sorted = ordered(a);
      const half = a.length >> 1;
      const [low, high] = [sorted[half - 1] ?? 0, sorted[half] ?? 0];
      expect(median(a)).toBe(a.length % 2 === 1 ? high : (low + high) / 2);
    }
    expect(median([])).toBeNaN();
    expect(median([1, Number.NaN, 2, 3])).toBe(2.5);
    expect(median([Number.NaN, Number.NaN, 1])).toBeNaN();
  });

  it("have the running median that each window's sorting shows", () => {
    for (const a of columns()) {
      for (const reach of [1, 2, 15]) {
        const at = (i: number): number => a[Math.min(Math.max(i, 0), a.length - 1)] ?? 0;
        const wanted = a.map((_, i) => {
          const near = Float64Array.from({ length: 2 * reach + 1 }, (_v, j) => at(i + j - reach));
          return ordered(near)[reach] ?? 0;
        });
        expect(runningMedian(a, reach)).toEqual(wanted);
      }
    }
  });

  it("have quantiles by linear interpolation", () => {
    // numpy.quantile([3, 1, 2, 10], [0, 0.05, 0.5, 0.9, 1])
    const got = [0, 0.05, 0.5, 0.9, 1].map((q) => quantile([3, 1, 2, 10], q));
    [1, 1.15, 2.5, 7.9, 10].forEach((want, i) => expect(got[i]).toBeCloseTo(want, 12));
  });

  it("are searched from the left and from the right as numpy does", () => {
    const a = [1, 2, 2, 2, 5];
    expect([0, 1, 2, 3, 6].map((v) => firstNotBelow(a, v))).toEqual([0, 0, 1, 4, 5]);
    expect([0, 1, 2, 3, 6].map((v) => firstAbove(a, v))).toEqual([0, 1, 4, 4, 5]);
  });

  it("are interpolated, and beyond their ends the ends hold", () => {
    expect(Array.from(interp([-1, 0, 0.5, 2, 9], [0, 1, 3], [10, 20, 0]))).toEqual([10, 10, 15, 10, 0]);
    expect(Array.from(linspace(0, 1, 5))).toEqual([0, 0.25, 0.5, 0.75, 1]);
  });

  it("are put in order with equal values as they came", () => {
    expect(Array.from(order([2, 1, 2, 1]))).toEqual([1, 3, 0, 2]);
  });

  it("turn angles on without jumps, and measure turns the short way", () => {
    const turning = Array.from({ length: 80 }, (_, i) => Math.atan2(Math.sin(i / 3), Math.cos(i / 3)));
    unwrap(turning).forEach((v, i) => expect(v).toBeCloseTo(i / 3, 9));
    expect(turned(3.1, -3.1)).toBeCloseTo(2 * Math.PI - 6.2, 12);
    expect(modulo(-1, 360)).toBe(359);
    expect([0.5, 1.5, 2.5, 3.5, 2.4].map(halfToEven)).toEqual([0, 2, 2, 4, 2]);
  });
});

describe("chance", () => {
  it("is xoshiro128**: what its published recurrence gives from the state 1, 2, 3, 4", () => {
    const chance = Chance.from([1, 2, 3, 4]);
    const words = Array.from({ length: 10 }, () => chance.word());
    expect(words).toEqual([
      11520, 0, 5927040, 70819200, 2031721883, 1637235492, 1287239034, 3734860849, 3729100597,
      4258142804,
    ]);
  });

  it("says the same for a seed, and something else for another", () => {
    const first = (seed: number): number[] => Array.from(new Chance(seed).normals(5));
    expect(first(7)).toEqual(first(7));
    expect(first(7)).not.toEqual(first(8));
  });

  it("draws normal and even numbers with the moments they must have", () => {
    const chance = new Chance(11);
    const n = 40_000;
    const normals = chance.normals(n);
    const moment = (k: number): number => normals.reduce((sum, v) => sum + v ** k, 0) / n;
    // five standard errors
    expect(Math.abs(moment(1))).toBeLessThan(5 / Math.sqrt(n));
    expect(Math.abs(moment(2) - 1)).toBeLessThan(5 * Math.sqrt(2 / n));
    expect(Math.abs(moment(4) - 3)).toBeLessThan(5 * Math.sqrt(96 / n));
    const bins = new Float64Array(10);
    for (let i = 0; i < n; i++) {
      const bin = Math.floor(10 * chance.uniform());
      bins[bin] = (bins[bin] ?? 0) + 1;
    }
    for (const count of bins) expect(Math.abs(count - n / 10)).toBeLessThan(5 * Math.sqrt(n / 10));
  });

  it("picks by weight and ranks every number once", () => {
    const chance = new Chance(2);
    const counts = [0, 0, 0];
    for (let i = 0; i < 9000; i++) {
      const k = chance.pick([1, 0, 2]);
      counts[k] = (counts[k] ?? 0) + 1;
    }
    expect(counts[1]).toBe(0);
    expect(Math.abs((counts[0] ?? 0) - 3000)).toBeLessThan(5 * Math.sqrt(2000));
    const ranks = chance.ranks(50);
    expect(new Set(ranks).size).toBe(50);
    expect([Math.min(...ranks), Math.max(...ranks)]).toEqual([0, 49]);
  });
});

test("what has a key stands together as it came, and what has none nowhere", () => {
  const { start, index } = byKey(Int32Array.of(2, 0, -1, 2, 0, 2), 4);
  expect([...start]).toEqual([0, 2, 2, 5, 5]);
  expect([...index]).toEqual([1, 4, 0, 3, 5]);
});
