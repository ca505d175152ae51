import { COLUMN, KEPT, NEXT, STATE, eliminate, given } from "../../../web/src/core/blocks";
import { Chance } from "../../../web/src/core/chance";
import { eliminated } from "./systems";

/** Unknowns of a fix and the next that a row of least squares may see: any of the one, or tied three and two. */
const SEEN = [
  [0, 1, 2, 3, 4],
  [0, 1, 2, 5, 6, 7],
  [3, 4, 8, 9],
];

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
        const from = STATE * k;
        for (let row = 0; row < 12; row++) {
          const seen = SEEN[k + 1 < fixes ? row % 3 : 0] ?? [];
          const [sees, ...parts] = Array.from(chance.normals(seen.length + 1));
          const place = (i: number): number => (i < STATE ? i : i - STATE + NEXT);
          seen.forEach((i, p) => {
            const told = (parts[p] ?? 0) * (sees ?? 0);
            right[from + i] = (right[from + i] ?? 0) + told;
            // the right-hand side is a row of the one's columns, and of its own where the next's rows are
            const there = i < STATE ? COLUMN * i + STATE : COLUMN * STATE + place(i);
            m[there] = (m[there] ?? 0) + told;
            seen.forEach((j, q) => {
              const both = (parts[p] ?? 0) * (parts[q] ?? 0);
              const line = whole[from + i] ?? [];
              line[from + j] = (line[from + j] ?? 0) + both;
              if (j >= i) m[COLUMN * place(i) + place(j)] = (m[COLUMN * place(i) + place(j)] ?? 0) + both;
            });
          });
        }
        eliminate(m, kept, KEPT * k);
      }
      const x = new Float64Array(COLUMN);
      x[STATE] = -1;
      const want = eliminated(whole, right);
      for (let k = fixes - 1; k >= 0; k--) {
        x.copyWithin(NEXT, 0, STATE);
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
