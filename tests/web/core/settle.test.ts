import { Chance } from "../../../web/src/core/chance";
import type { Picture, Stretch } from "../../../web/src/core/picture";
import { settle } from "../../../web/src/core/settle";
import { elsewhere, furrows } from "./furrows";

const HOW = { white_m: 0.02, rate: Number.NaN, rate_error: Number.NaN, pegs: [], draws: 4, move: true };

function settled(stretches: readonly Stretch[], how: Partial<typeof HOW> = {}): Picture {
  return settle(stretches, null, { ...HOW, ...how }, new Chance(1));
}

function apart(a: ArrayLike<number>, b: ArrayLike<number>): number {
  expect(a.length).toBe(b.length);
  return Array.from(a).reduce(
    (most, v, i) => Math.max(most, Math.abs(v - (b[i] ?? Number.NaN))),
    0,
  );
}

/** The spread over neighbouring runs of how far two lines lie off each other, m. */
function torn(lines: readonly Float64Array[], truth: readonly Float64Array[]): number {
  let [sum, count] = [0, 0];
  for (let run = 1; run < lines.length; run++) {
    const n = lines[run]?.length ?? 0;
    for (let i = 0; i < n; i++) {
      const off = (k: number, j: number): number =>
        (lines[k]?.[j] ?? Number.NaN) - (truth[k]?.[j] ?? Number.NaN);
      const between = off(run, i) - off(run - 1, n - 1 - i);
      [sum, count] = [sum + between * between, count + 1];
    }
  }
  return Math.sqrt(sum / count);
}

describe("settling", () => {
  it.each([1, 2, 3])(
    "takes most of the drift between neighbouring runs out of the picture: day %i",
    (seed) => {
      const { stretches, off } = furrows({ seed });
      const logged = stretches.map((one) => one.poses.y_m);
      const truth = logged.map((y, run) => y.map((v, i) => v - (off[run]?.north[i] ?? 0)));
      const picture = settled(stretches);
      expect(picture.info).not.toBeNull();
      const after = torn(
        picture.stretches.map((one) => one.poses.y_m),
        truth,
      );
      expect(after).toBeLessThan(0.35 * torn(logged, truth));
    },
  );

  it("learns the overlap, and roughly the drift", () => {
    const picture = settled(furrows({ runs: 24, seed: 5, overlap_m: 0.5 }).stretches);
    // the runs' own spacing tells it only as far as the drift does not stretch the paddock
    expect(Math.abs((picture.info?.["overlap_m"] ?? 9) - 0.5)).toBeLessThan(0.25);
    expect(picture.info?.["sigma_m"]).toBeGreaterThan(1.1 / 2);
    expect(picture.info?.["sigma_m"]).toBeLessThan(1.1 * 2);
  });

  it("leaves a survey-grade track alone, with draws as small as its quick noise", () => {
    const { stretches } = furrows({ sigma_m: 0.02 });
    const picture = settled(stretches, { draws: 50 });
    expect(picture.info).toBeNull();
    expect(picture.stretches).toBe(stretches);
    expect(Math.max(...picture.east_m, ...picture.north_m)).toBe(0);
    const middle = picture.north_draws.map((draw) => draw[20] ?? Number.NaN);
    const spread = Math.sqrt(middle.reduce((sum, v) => sum + v * v, 0) / middle.length);
    expect(spread).toBeGreaterThan(0.005);
    expect(spread).toBeLessThan(0.015);
  });

  it("leaves the picture as logged where asked to, and where there is nothing", () => {
    expect(settled(furrows().stretches, { move: false }).info).toBeNull();
    const none = settled([]);
    expect(none.info).toBeNull();
    expect(none.stretches).toEqual([]);
    expect(none.east_draws.map((draw) => draw.length)).toEqual([0, 0, 0, 0]);
  });

  it("gives the mirrored picture of a mirrored day", () => {
    const { stretches } = furrows({ seed: 4 });
    const mirrored = elsewhere(
      stretches,
      (x, y) => [-x, y],
      (h) => Math.PI - h,
    );
    const [one, two] = [settled(stretches), settled(mirrored)];
    expect(one.info).not.toBeNull();
    expect(
      apart(
        one.east_m.map((v) => -v),
        two.east_m,
      ),
    ).toBeLessThan(1e-6);
    expect(apart(one.north_m, two.north_m)).toBeLessThan(1e-6);
  });

  it("gives the same picture turned and moved where the day is turned and moved", () => {
    const { stretches } = furrows({ seed: 6 });
    const [c, s] = [Math.cos(0.7), Math.sin(0.7)];
    const place = (x: number, y: number) => [c * x - s * y + 900, s * x + c * y - 400] as const;
    const [one, two] = [settled(stretches), settled(elsewhere(stretches, place, (h) => h + 0.7))];
    expect(one.info).not.toBeNull();
    const east = one.east_m.map((e, i) => c * e - s * (one.north_m[i] ?? Number.NaN));
    const north = one.east_m.map((e, i) => s * e + c * (one.north_m[i] ?? Number.NaN));
    expect(apart(east, two.east_m)).toBeLessThan(1e-6);
    expect(apart(north, two.north_m)).toBeLessThan(1e-6);
  });

  it("keeps a furrow that was lost, where the drift is too small to have opened it", () => {
    const { stretches } = furrows({ seed: 7, runs: 20, sigma_m: 0.55, aside: { 11: 2.6 } });
    const picture = settled(stretches);
    expect(picture.info).not.toBeNull();
    const middle = (run: number): number => picture.stretches[run]?.poses.y_m[52] ?? Number.NaN;
    expect(Math.abs(middle(11) - middle(10) - (8.7 + 2.6))).toBeLessThan(0.7);
    expect(Math.abs(middle(10) - middle(9) - 8.7)).toBeLessThan(0.5);
    expect(Math.abs(middle(12) - middle(11) - 8.7)).toBeLessThan(0.5);
  });

  it("makes as many draws as asked for, scattered about the picture", () => {
    const { stretches } = furrows({ seed: 2 });
    for (const draws of [0, 1, 7, 13]) {
      const picture = settled(stretches, { draws });
      expect(picture.east_draws.length).toBe(draws);
      expect(picture.north_draws.length).toBe(draws);
    }
    const { north_draws } = settled(stretches, { draws: 60 });
    const [first] = north_draws;
    const means = Array.from(
      first ?? [],
      (_, i) =>
        north_draws.reduce((sum, draw) => sum + (draw[i] ?? Number.NaN), 0) / north_draws.length,
    );
    const spread = Math.sqrt(
      north_draws.reduce((sum, d) => sum + d.reduce((all, v) => all + v * v, 0) / d.length, 0) / 60,
    );
    // nothing tells where the whole of such a day lies, but its prior: 1.5 m beside a drift of 1.1
    // m
    expect(spread).toBeGreaterThan(0.5);
    expect(spread).toBeLessThan(2);
    expect(Math.max(...means.map(Math.abs))).toBeLessThan(spread);
  });

  it("gives the same picture and the same draws for the same seed", () => {
    const { stretches } = furrows({ seed: 3 });
    expect(settled(stretches)).toEqual(settled(stretches));
  });
});
