import { laid, nothing, relay } from "../../../web/src/core/beside";
import { Chance } from "../../../web/src/core/chance";
import type { Ticks } from "../../../web/src/core/ticks";

/** Runs back and forth beside each other, a second every two metres, with a jump from each to the next. */
function passes(runs: number, each: number, apart_m: number): Ticks {
  const n = runs * each;
  const column = (value: (run: number, k: number) => number): Float64Array => Float64Array.from({ length: n }, (_, i) => value(Math.floor(i / each), i % each));
  const way_m = column((run, k) => 2 * (run * each + k));
  const heading_rad = column((run) => (run % 2 === 0 ? 0 : Math.PI));
  return {
    t_s: column((run, k) => run * each + k),
    x_m: column((run, k) => 2 * (run % 2 === 0 ? k : each - 1 - k)),
    y_m: column((run) => run * apart_m),
    heading_rad,
    nose_rad: heading_rad,
    bend_1_m: new Float64Array(n),
    speed_m_s: new Float64Array(n).fill(2),
    way_m,
    rising_m: way_m,
    backing: new Uint8Array(n),
    usual_m_s: 2,
  };
}

describe("ground that other passes sowed", () => {
  const strips = laid(passes(5, 60, 5), 6);
  const chances = (chance: Chance): Float64Array => Float64Array.from(chance.normals(300), (v) => 1 / (1 + Math.exp(-3 * v)));

  it("comes to the same brought up to date where chances changed as laid anew", () => {
    const chance = new Chance(5);
    const known = chances(chance);
    const near = nothing(300);
    relay(strips, known, near);
    for (let round = 0; round < 4; round++) {
      for (let i = 40 * round; i < 40 * round + 25; i++) known[i] = 1 - (known[i] ?? 0);
      relay(strips, known, near);
      const anew = nothing(300);
      relay(strips, known, anew);
      expect(near).toEqual(anew);
    }
  });

  it("is before a pass or after it, and what nobody sowed is not there", () => {
    const near = nothing(300);
    relay(strips, new Float64Array(300).fill(1).fill(0, 120, 180), near);
    // the third run was not sown: the second sees the first alone, before it, and the fourth the fifth, after it
    const [second, fourth] = [90, 210];
    expect([near.under_before[second], near.under_before[fourth]].map((v) => (v ?? 0) > 0.05)).toEqual([true, false]);
    expect([near.under_after[second], near.under_after[fourth]].map((v) => (v ?? 0) > 0.05)).toEqual([false, true]);
  });
});
