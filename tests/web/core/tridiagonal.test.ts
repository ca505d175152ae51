import { Chance } from "../../../web/src/core/chance";
import { tridiagonal, weighed } from "../../../web/src/core/tridiagonal";
import { eliminated } from "./systems";

/** The determinant of a dense matrix, by its first row: for small ones. */
function determinant(a: number[][]): number {
  if (a.length === 0) return 1;
  return (a[0] ?? []).reduce((sum, v, c) => {
    const minor = a.slice(1).map((row) => row.filter((_, k) => k !== c));
    return sum + (c % 2 === 0 ? v : -v) * determinant(minor);
  }, 0);
}

describe("a matrix on three diagonals", () => {
  it("is weighed with s as I + sA is densely", () => {
    const chance = new Chance(7);
    for (let k = 0; k < 60; k++) {
      const n = 1 + (k % 7);
      const half = Array.from({ length: n }, () => Array.from(chance.normals(n)));
      // A = HHᵀ; now and then of low rank, as the drift of a short chain is
      if (k % 5 === 0) half.forEach((row) => row.fill(0, 1));
      const a = half.map((p) => half.map((q) => p.reduce((sum, v, i) => sum + v * (q[i] ?? 0), 0)));
      const b = Array.from(chance.normals(n));
      const s = 3 * chance.uniform();
      const whole = a.map((row, i) => row.map((v, j) => (i === j ? 1 : 0) + s * v));
      const x = eliminated(whole, b);
      const three = tridiagonal(Float64Array.from(a.flat()), Float64Array.from(b));
      const { quadratic, logDeterminant } = weighed(three, s);
      const want = b.reduce((sum, v, i) => sum + v * (x[i] ?? Number.NaN), 0);
      expect(Math.abs(quadratic - want)).toBeLessThan(1e-9 * (1 + want));
      expect(logDeterminant).toBeCloseTo(Math.log(determinant(whole)), 9);
    }
  });
});
