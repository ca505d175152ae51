import { Chance } from "../../../web/src/core/chance";
import { type Grid, cellsOf, columnOf, crossings, gridOver, noBits, ones, paintQuads, rowOf, setBits } from "../../../web/src/core/raster";
import type { Ring } from "../../../web/src/core/words";
import { cellsIn } from "./cells";

const FIELD: Ring = Float64Array.of(0, 0, 120, 10, 110, 90, -10, 80);
const [WIDTH, FRONT, REAR] = [9, 1.5, -1.2];

const set = (grid: Grid, bits: ArrayLike<number>): number[] =>
  Array.from({ length: cellsOf(grid) }, (_, cell) => cell).filter((cell) => ((bits[cell >> 5] ?? 0) & (1 << (cell & 31))) !== 0);

/** Quads of a run from a place along headings that change at random by no more than `bend` a step. */
function run(luck: Chance, from_x: number, from_y: number, begun: number, steps: number, bend: number): Ring[] {
  const out: Ring[] = [];
  let [x, y, heading] = [from_x, from_y, begun];
  const bar = (ahead: number, left: number): number[] => [
    x + ahead * Math.cos(heading) - left * Math.sin(heading),
    y + ahead * Math.sin(heading) + left * Math.cos(heading),
  ];
  for (let k = 0; k < steps; k++) {
    const rear = [...bar(REAR, WIDTH / 2), ...bar(REAR, -WIDTH / 2)];
    const way = 12 * luck.uniform();
    x += way * Math.cos(heading) + 0.2 * luck.normal();
    y += way * Math.sin(heading) + 0.2 * luck.normal();
    heading += bend * (2 * luck.uniform() - 1);
    out.push(Float64Array.from([...rear, ...bar(FRONT, -WIDTH / 2), ...bar(FRONT, WIDTH / 2)]));
  }
  return out;
}

function painted(grid: Grid, quads: readonly Ring[]): Int32Array {
  const bits = noBits(grid);
  const all = quads.reduce<number[]>((rest, quad) => rest.concat(Array.from(quad)), []);
  const corner = (of: typeof columnOf): Float64Array =>
    Float64Array.from({ length: all.length / 2 }, (_, i) => of(grid, all[2 * i] ?? 0, all[2 * i + 1] ?? 0));
  paintQuads(grid, corner(columnOf), corner(rowOf), bits);
  return bits;
}

test("quads painted in turn cover the cells that each covers by itself, however runs go on, turn and leave the grid", () => {
  const luck = new Chance(7);
  for (let day = 0; day < 60; day++) {
    const grid = gridOver([FIELD], day % 3 === 0 ? 0 : 3 * luck.uniform(), 0.5);
    const bend = [0.02, 0.3, 2][day % 3] ?? 0;
    const quads: Ring[] = [];
    for (let k = 0; k < 6; k++) {
      // also from outside, and now and then the same run once more or the way back
      const [x, y] = [150 * luck.uniform() - 20, 110 * luck.uniform() - 10];
      const heading = (k % 2) * Math.PI + 0.3 * luck.normal() + (day % 4 === 3 ? Math.PI / 2 : 0);
      quads.push(...run(luck, x, y, heading, 14, bend));
    }
    const alone = noBits(grid);
    for (const quad of quads) painted(grid, [quad]).forEach((word, i) => (alone[i] = word | (alone[i] ?? 0)));
    expect(painted(grid, quads), `day ${day}`).toEqual(alone);
  }
});

test("a quad covers the cells whose centres it holds", () => {
  const luck = new Chance(8);
  const grid = gridOver([FIELD], 0.4, 0.5);
  for (let k = 0; k < 40; k++) {
    for (const quad of run(luck, 100 * luck.uniform(), 80 * luck.uniform(), 6 * luck.uniform(), 3, 0.3)) {
      const wanted = cellsIn(grid, [quad]).filter((cell) => cell < cellsOf(grid));
      expect(set(grid, painted(grid, [quad]))).toEqual(wanted);
    }
  }
});

test("bits are set from one cell to before another, within a word and over several", () => {
  const grid = gridOver([FIELD], 0, 5);
  for (const [from, to] of [[0, 1], [3, 3], [5, 32], [31, 33], [32, 64], [40, 131], [9, 8]] as const) {
    const bits = noBits(grid);
    setBits(bits, from, to);
    const wanted = Array.from({ length: Math.max(to - from, 0) }, (_, k) => from + k);
    expect(set(grid, bits)).toEqual(wanted);
    expect(bits.reduce((sum, word) => sum + ones(word), 0)).toBe(wanted.length);
  }
});

test("crossings of a ring come in pairs, a row's way in and its way out", () => {
  const grid = gridOver([FIELD], 0.4, 0.5);
  const at = crossings(grid, [FIELD]);
  expect(at.length % 2).toBe(0);
  const width = grid.columns + 1;
  for (let k = 0; k < at.length; k += 2) {
    const [way_in, way_out] = [at[k] ?? Number.NaN, at[k + 1] ?? Number.NaN];
    expect(way_in).toBeLessThanOrEqual(way_out);
    expect(Math.floor(way_in / width)).toBe(Math.floor(way_out / width));
  }
});
