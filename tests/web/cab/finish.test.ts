// When a paddock will be done.
import { finishOf } from "../../../web/src/cab/finish";

/** Ground seeded at the paces of half hours, one after another; `from_s` when the first began. */
function seeded(paces: readonly number[], from_s = 0): { t_s: Float64Array; ha: Float64Array } {
  const t_s = [from_s];
  const ha = [0];
  for (const pace of paces) {
    // every five minutes
    for (let k = 0; k < 6; k++) {
      t_s.push((t_s[t_s.length - 1] ?? 0) + 300);
      ha.push((ha[ha.length - 1] ?? 0) + pace / 12);
    }
  }
  return { t_s: Float64Array.from(t_s), ha: Float64Array.from(ha) };
}

describe("when it is done", () => {
  it("is the rest at the pace so far, and most sure where every half hour was the same", () => {
    const found = finishOf(8, 16, seeded([4, 4, 4, 4, 4, 4, 4, 4]));
    expect(found?.ha_h).toBeCloseTo(4, 6);
    expect(found?.hours).toBeCloseTo(2, 6);
    expect(found?.spread_h).toBeCloseTo(2 * 1.2816 * 0.06, 6);
  });

  it("counts new ground alone: what is sown twice takes its time too", () => {
    expect(finishOf(8, 8, seeded([4, 4, 4, 4, 4, 4, 4, 4]))?.hours).toBeCloseTo(4, 6);
  });

  it("is less sure the more half hours differ", () => {
    const even = finishOf(8, 12, seeded([4, 4.2, 3.8, 4, 4.2, 3.8]))?.spread_h ?? NaN;
    const uneven = finishOf(8, 12, seeded([6, 2, 5, 3, 6, 2]))?.spread_h ?? NaN;
    expect(even).toBeGreaterThan(0);
    expect(uneven).toBeGreaterThan(3 * even);
  });

  it("tells no spread from less than three half hours", () => {
    expect(finishOf(8, 4, seeded([4, 4]))?.spread_h).toBeNull();
  });

  it("leaves nights and other days' paces out", () => {
    const [before, today] = [seeded([9, 9, 9, 9]), seeded([4, 4, 4, 4], 60_000)];
    const all = { t_s: Float64Array.from([...before.t_s, ...today.t_s]), ha: Float64Array.from([...before.ha, ...today.ha.map((ha) => ha + 18)]) };
    expect(finishOf(8, 26, all)?.ha_h).toBeCloseTo(4, 6);
  });

  it("is not told where nothing is left but loose ends, or nothing was sown", () => {
    expect(finishOf(0.02, 16, seeded([4, 4, 4]))).toBeNull();
    expect(finishOf(8, 0, seeded([]))).toBeNull();
  });
});
