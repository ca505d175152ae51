import { Chance } from "../../../web/src/core/chance";
import { Near } from "../../../web/src/core/near";

function brute(x: Float64Array, y: Float64Array, px: number, py: number, reach: number): number[] {
  return Array.from(x, (_, i) => i).filter(
    (i) => Math.hypot((x[i] ?? 0) - px, (y[i] ?? 0) - py) <= reach,
  );
}

describe("points near a place", () => {
  it("are those that looking at each one finds, whatever the reach and wherever asked", () => {
    const chance = new Chance(3);
    for (let k = 0; k < 40; k++) {
      const count = Math.floor(chance.uniform() * 60);
      const [x, y] = [chance.normals(count), chance.normals(count)];
      // one stray fix far off must not cost a cell for every metre to it
      if (k % 3 === 0 && count > 0) x[0] = 5e6;
      const near = new Near(x, y, 0.1 + chance.uniform());
      for (let q = 0; q < 20; q++) {
        const [px, py, reach] = [2 * chance.normal(), 2 * chance.normal(), 1.5 * chance.uniform()];
        const found = near.within(px, py, reach).toSorted((a, b) => a - b);
        expect(found).toEqual(brute(x, y, px, py, reach));
      }
    }
  });
});
