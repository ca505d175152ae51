import { Chance } from "../../../web/src/core/chance";
import { meets } from "../../../web/src/core/swath";

const BOX = { west: -1, south: -2, east: 3, north: 2 };

test("a line meets a box where any of its points lies in it", () => {
  const luck = new Chance(3);
  let [met, near] = [0, 0];
  for (let k = 0; k < 2000; k++) {
    const [ax, ay, bx, by] = Array.from({ length: 4 }, () => 16 * luck.uniform() - 7) as [number, number, number, number];
    let inside = false;
    let off = Infinity;
    for (let i = 0; i <= 4000; i++) {
      const [x, y] = [ax + (i / 4000) * (bx - ax), ay + (i / 4000) * (by - ay)];
      const out = Math.max(BOX.west - x, x - BOX.east, BOX.south - y, y - BOX.north);
      inside = inside || out <= 0;
      off = Math.min(off, Math.abs(out));
    }
    if (off < 0.01 && !inside) continue;
    expect(meets(Float64Array.of(ax, ay, bx, by), BOX)).toBe(inside);
    if (inside) met += 1;
    else if (Math.min(ax, bx) < BOX.east && Math.max(ax, bx) > BOX.west && Math.min(ay, by) < BOX.north && Math.max(ay, by) > BOX.south) near += 1;
  }
  // both kinds were among them: lines that cross, and lines that only pass a corner
  expect(Math.min(met, near)).toBeGreaterThan(50);
});
