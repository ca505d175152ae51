// What of a day does not fit together is told, and what fits is not: as tests/core/test_fit.py at home.
import { elsewhere, spacing } from "../../../web/src/core/fit";
import type { Sampled } from "../../../web/src/core/samples";

/** Runs of 300 m east and west in turn, each a little aside of its row. */
function rows(apart_m: number, card_m: number, count = 8): Sampled[] {
  const way = Float64Array.from({ length: 150 }, (_, i) => 2 * i);
  return Array.from({ length: count }, (_, k) => {
    const back = k % 2 === 1;
    const x_m = back ? way.toReversed() : way;
    const poses = { t_s: way.map((m) => 400 * k + m / 2), x_m, y_m: way.map(() => k * apart_m + 0.15 * Math.sin(3 * k)), heading_rad: way.map(() => (back ? Math.PI : 0)), path_m: way };
    return { run: k, leg: 0, front_m: 0, rear_m: 0, width_m: card_m, poses };
  });
}

describe("the width of the card and the runs", () => {
  it.each([[17.6, 12], [11.7, 18]])("%f m apart is told where the card says %f m", (apart, card) => {
    const found = spacing(rows(apart, card));
    expect(found?.width_m).toBe(card);
    expect(Math.abs((found?.apart_m ?? 0) - apart)).toBeLessThan(0.3);
  });

  it.each([[11.7, 12], [12.9, 12], [10, 12]])("%f m apart, driven by eye with a card of %f m, fits", (apart, card) => {
    expect(spacing(rows(apart, card))).toBeNull();
  });

  it("fits where every second run is still to come, and where some among others were missed", () => {
    expect(spacing(rows(23.5, 12))).toBeNull();
    expect(spacing(rows(11.7, 12, 12).filter((_, k) => k !== 3 && k !== 7))).toBeNull();
  });

  it("cannot be told of too few runs, of none, or of two widths", () => {
    expect(spacing(rows(17.6, 12, 2))).toBeNull();
    expect(spacing([])).toBeNull();
    expect(spacing(rows(17.6, 12).map((one, k) => (k > 0 ? one : Object.assign(one, { width_m: 9 }))))).toBeNull();
  });
});

describe("what was swept", () => {
  it("lies elsewhere where next to nothing of it is in the paddock", () => {
    expect(elsewhere({ swept_ha: 23.3, outside_ha: 23.27 })).toBe(true);
    expect(elsewhere({ swept_ha: 23.3, outside_ha: 2 })).toBe(false);
    expect(elsewhere({ swept_ha: 0, outside_ha: 0 })).toBe(false);
  });
});
