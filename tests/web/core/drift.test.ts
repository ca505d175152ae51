import { few, learn } from "../../../web/src/core/drift";
import { samples, select } from "../../../web/src/core/samples";
import { seams } from "../../../web/src/core/seams";
import { furrows } from "./furrows";

const HEARD = { white_m: 0.02, rate: Number.NaN, rate_error: Number.NaN };

function learned(sigma_m: number, tau_s: number, seed: number, rate = Number.NaN) {
  const { stretches } = furrows({ runs: 30, width_m: 12, sigma_m, tau_s, seed });
  const s = samples(stretches);
  return learn(s, seams(s, s.x_m, s.y_m, 0.45), { ...HEARD, rate });
}

describe("the drift's size", () => {
  it.each([1, 2, 3])(
    "comes out of the seams within a factor of two, small or large: day %i",
    (seed) => {
      const [small, large] = [learned(0.5, 60, seed), learned(1.6, 60, seed)];
      expect(small?.sigma_m).toBeGreaterThan(0.25);
      expect(small?.sigma_m).toBeLessThan(1);
      expect(large?.sigma_m).toBeGreaterThan(0.8);
      expect(large?.sigma_m).toBeLessThan(3.2);
    },
  );

  it("keeps to the rate that the raw fixes tell", () => {
    const rate = 1 * Math.sqrt(2 / 60);
    const told = learned(1, 60, 4, rate);
    const own = (told?.sigma_m ?? Number.NaN) * Math.sqrt(2 / (told?.tau_s ?? Number.NaN));
    expect(Math.abs(Math.log(own / rate))).toBeLessThan(0.16);
  });

  it("has a table of what the day leaves open, around what it says", () => {
    const told = learned(1, 60, 5);
    const spread = told?.spread ?? [];
    expect(spread.length).toBeGreaterThan(5);
    const total = spread.reduce((sum, size) => sum + size.weight, 0);
    const mean =
      spread.reduce((sum, size) => sum + size.weight * Math.log(size.sigma_m), 0) / total;
    expect(mean).toBeCloseTo(Math.log(told?.sigma_m ?? Number.NaN), 1);
  });

  it("is as open as phones are where fewer than three chains tell it, and as the fixes tell", () => {
    const { stretches } = furrows({ runs: 5 });
    const s = samples(stretches);
    const rows = seams(s, s.x_m, s.y_m, 0.45);
    const two = Array.from(rows.chain, (_, i) => i).filter(
      (i) => (rows.chain[i] ?? 0) <= (rows.chain[0] ?? 0) + 1,
    );
    expect([few(rows), few(select(rows, two)), few(select(rows, []))]).toEqual([false, true, true]);
    const open = learn(s, select(rows, []), HEARD);
    expect(open.sigma_m).toBeCloseTo(1, 0);
    const sizes = open.spread.map((size) => size.sigma_m);
    expect(Math.max(...sizes) / Math.min(...sizes)).toBeGreaterThan(10);
    const heard = (rate: number, rate_error: number) => learn(s, select(rows, []), { ...HEARD, rate, rate_error }).sigma_m;
    expect(heard(0.01, 1e-5)).toBeLessThan(0.2);
    expect(heard(0.4, 0.01)).toBeGreaterThan(1.5);
    // a rate that is hardly heard says hardly anything
    expect(heard(0.01, 1) / open.sigma_m).toBeCloseTo(1, 1);
  });

  it("does not depend on the order in which a chain's rows stand, nor on one of them at both its ends", () => {
    const { stretches } = furrows({ runs: 12, sigma_m: 1, tau_s: 60, seed: 6 });
    const s = samples(stretches);
    const every = seams(s, s.x_m, s.y_m, 0.45);
    const whole = Array.from(every.chain.keys());
    // of at most twenty rows a chain none is left out
    const first = (i: number): number => every.chain.indexOf(every.chain[i] ?? -1);
    const rows = select(every, whole.filter((i) => i - first(i) < 20));
    const ring = { ...rows, who: rows.who.slice() };
    rows.chain.forEach((chain, i) => {
      if (chain !== rows.chain[i + 1]) ring.who[3 * i + 1] = rows.who[3 * rows.chain.indexOf(chain) + 1] ?? -1;
    });
    for (const seen of [rows, ring]) {
      const at = (by: (i: number) => number) =>
        learn(s, select(seen, Array.from(seen.chain.keys()).toSorted((i, j) => (seen.chain[i] ?? 0) - (seen.chain[j] ?? 0) || by(i) - by(j))), HEARD);
      const [driven, back, mixed] = [at((i) => i), at((i) => -i), at((i) => (7 * i) % 5)];
      for (const other of [back, mixed]) {
        expect(other.sigma_m).toBeCloseTo(driven.sigma_m, 9);
        expect(other.tau_s).toBeCloseTo(driven.tau_s, 6);
      }
    }
  });
});
