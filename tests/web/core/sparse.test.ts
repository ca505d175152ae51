import { Chance } from "../../../web/src/core/chance";
import { Writer, sameShape, times, transposedTimes } from "../../../web/src/core/sparse";
import { dense, scattered } from "./systems";

describe("a matrix written row by row", () => {
  it("sums what is added to one column of a row twice, and leaves no entry for nought", () => {
    const to = new Writer(4);
    to.add(2, 1.5);
    to.add(0, -1);
    to.add(2, 2);
    to.add(3, 0);
    to.end();
    to.end();
    to.add(2, 7);
    to.end();
    const a = to.matrix();
    expect(dense(a)).toEqual([
      [-1, 0, 3.5, 0],
      [0, 0, 0, 0],
      [0, 0, 7, 0],
    ]);
    expect(a.column.length).toBe(3);
  });

  it("multiplies as its dense form does, both ways round", () => {
    const chance = new Chance(5);
    for (let k = 0; k < 20; k++) {
      const a = scattered(chance, 3 + k, 2 + ((7 * k) % 11)).matrix;
      const full = dense(a);
      const [x, y] = [chance.normals(a.columns), chance.normals(a.rows)];
      const ax = full.map((row) => row.reduce((sum, v, c) => sum + v * (x[c] ?? 0), 0));
      const aty = Array.from(x, (_, c) =>
        full.reduce((sum, row, r) => sum + (row[c] ?? 0) * (y[r] ?? 0), 0),
      );
      times(a, x).forEach((v, r) => expect(v).toBeCloseTo(ax[r] ?? Number.NaN, 10));
      transposedTimes(a, y).forEach((v, c) => expect(v).toBeCloseTo(aty[c] ?? Number.NaN, 10));
    }
  });

  it("grows past its first room", () => {
    const to = new Writer(3000);
    for (let c = 0; c < 3000; c++) to.add(c, c + 1);
    to.end();
    const [sum] = times(to.matrix(), new Float64Array(3000).fill(1));
    expect(sum).toBe((3000 * 3001) / 2);
  });

  it("has the shape of another one where their entries stand in the same places", () => {
    const of = (columns: number[], value: number) => {
      const to = new Writer(4);
      for (const c of columns) to.add(c, value);
      to.end();
      return to.matrix();
    };
    expect(sameShape(of([1, 3], 1), of([1, 3], 2))).toBe(true);
    expect(sameShape(of([1, 3], 1), of([1, 2], 1))).toBe(false);
    expect(sameShape(of([1, 3], 1), of([1], 1))).toBe(false);
  });
});
