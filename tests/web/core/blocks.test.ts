import { COLUMN, KEPT, STATE, eliminate, given } from "../../../web/src/core/blocks";
import { Chance } from "../../../web/src/core/chance";
import { eliminated } from "./systems";

const RHS = COLUMN - 1;

/** Rows of least squares over a fix and the next: with so many, and each unknown seen once, all are told. */
function terms(chance: Chance, wide: number): { rows: number[][]; sees: number[] } {
  const rows = Array.from({ length: 8 }, () => Array.from(chance.normals(wide)));
  return { rows, sees: Array.from(chance.normals(8)) };
}

describe("a chain of fixes", () => {
  it("is told as one dense system tells it", () => {
    const chance = new Chance(11);
    for (const fixes of [1, 2, 5, 9]) {
      const n = STATE * fixes;
      const whole = Array.from({ length: n }, () => Array<number>(n).fill(0));
      const right = Array<number>(n).fill(0);
      const m = new Float64Array(COLUMN * COLUMN);
      const kept = new Float64Array(KEPT * fixes);
      for (let k = 0; k < fixes; k++) {
        const { rows, sees } = terms(chance, k + 1 < fixes ? 2 * STATE : STATE);
        const from = STATE * k;
        rows.forEach((row, r) => {
          row.forEach((p, i) => {
            right[from + i] = (right[from + i] ?? 0) + p * (sees[r] ?? 0);
            m[COLUMN * i + RHS] = (m[COLUMN * i + RHS] ?? 0) + p * (sees[r] ?? 0);
            row.forEach((q, j) => {
              const line = whole[from + i] ?? [];
              line[from + j] = (line[from + j] ?? 0) + p * q;
              if (j >= i) m[COLUMN * i + j] = (m[COLUMN * i + j] ?? 0) + p * q;
            });
          });
        });
        eliminate(m, kept, KEPT * k);
      }
      const x = new Float64Array(COLUMN);
      x[RHS] = -1;
      const want = eliminated(whole, right);
      for (let k = fixes - 1; k >= 0; k--) {
        x.copyWithin(STATE, 0, STATE);
        given(x, kept, KEPT * k);
        for (let i = 0; i < STATE; i++) expect(x[i]).toBeCloseTo(want[STATE * k + i] ?? Number.NaN, 7);
      }
    }
  });

  it("refuses what is told by nothing, or by what is not a number", () => {
    const kept = new Float64Array(KEPT);
    const m = new Float64Array(COLUMN * COLUMN);
    expect(() => eliminate(m, kept, 0)).toThrow(/positive definite/);
    expect(() => eliminate(m.fill(Number.NaN), kept, 0)).toThrow(/positive definite/);
  });
});
