// A grid of cells for sweeping many draws quickly: which cell centres lie in which strips.
//
// The grid lies along the day's main direction of travel, so that a quadrilateral of a straight run
// crosses few rows. A quadrilateral marks the cells whose centres it holds, row by row from its leftmost
// to its rightmost crossing; polygons are filled by the even-odd rule. Touching shapes share no cell and
// leave none out, because intervals are half open.
//
// Cells are numbered row by row; a row is `columns` + 1 long, its last cell always free. (Home holds a
// draw as sorted intervals; here it is painted, which costs less where memory is near.)
import { boxOf } from "./rings";
import type { Floats, Ints, Ring } from "./words";

/** Rows and columns of square cells on a turned plane. */
export interface Grid {
  /** The turned corner, m. */
  readonly x0_m: number;
  readonly y0_m: number;
  /** Cosine and sine of the turn. */
  readonly cos: number;
  readonly sin: number;
  /** A cell's side, m. */
  readonly cell_m: number;
  readonly rows: number;
  readonly columns: number;
}

/** A grid that holds some rings, its rows along a heading. */
export function gridOver(rings: readonly Ring[], heading_rad: number, cell_m = 0.5): Grid {
  const [cos, sin] = [Math.cos(heading_rad), Math.sin(heading_rad)];
  const { west, east, south, north } = boxOf(rings, cos, sin);
  const columns = Math.ceil((east - west) / cell_m) + 2;
  const rows = Math.ceil((north - south) / cell_m) + 2;
  return { x0_m: west - cell_m, y0_m: south - cell_m, cos, sin, cell_m, rows, columns };
}

/** How many numbers cells have. */
export function cellsOf(grid: Grid): number {
  return grid.rows * (grid.columns + 1);
}

/** Column, in cells, of a point on the plane. */
export function columnOf(grid: Grid, x: number, y: number): number {
  return (grid.cos * x + grid.sin * y - grid.x0_m) / grid.cell_m;
}

/** Row, in cells, of a point on the plane. */
export function rowOf(grid: Grid, x: number, y: number): number {
  return (grid.cos * y - grid.sin * x - grid.y0_m) / grid.cell_m;
}

/**
 * Where rows are crossed by the edges of some rings, as numbers of cells, increasing: cells from every first to
 * every second of them have their centres in the rings by the even-odd rule.
 */
export function crossings(grid: Grid, rings: readonly Ring[]): Ints {
  const width = grid.columns + 1;
  const found: number[] = [];
  for (const ring of rings) {
    const n = ring.length;
    for (let i = 0, j = n - 2; i < n; j = i, i += 2) {
      const [ua, va] = [columnOf(grid, ring[j], ring[j + 1]), rowOf(grid, ring[j], ring[j + 1])];
      const [ub, vb] = [columnOf(grid, ring[i], ring[i + 1]), rowOf(grid, ring[i], ring[i + 1])];
      const first = Math.max(above(Math.min(va, vb)), 0);
      const last = Math.min(above(Math.max(va, vb)), grid.rows) - 1;
      for (let row = first; row <= last; row++) {
        const u = ua + ((row + 0.5 - va) / (vb - va)) * (ub - ua);
        found.push(row * width + Math.min(Math.max(above(u), 0), grid.columns));
      }
    }
  }
  return Int32Array.from(found).sort();
}

/** One bit a cell, 32 a word; none is set. */
export function noBits(grid: Grid): Ints {
  return new Int32Array((cellsOf(grid) >> 5) + 1);
}

/** Sets the bits of the cells from one to before another. */
export function setBits(bits: Ints, from: number, to: number): void {
  if (from >= to) return;
  const [a, b] = [from >> 5, (to - 1) >> 5];
  const [first, last] = [-1 << (from & 31), -1 >>> (-to & 31)];
  if (a === b) bits[a] |= first & last;
  else {
    bits[a] |= first;
    for (let word = a + 1; word < b; word++) bits[word] = -1;
    bits[b] |= last;
  }
}

/** How many bits of a word are set (H. Warren, "Hacker's Delight", 2nd ed. 2012, 5-1). */
export function ones(word: number): number {
  const pairs = word - ((word >>> 1) & 0x55555555);
  const fours = (pairs & 0x33333333) + ((pairs >>> 2) & 0x33333333);
  return Math.imul((fours + (fours >>> 4)) & 0x0f0f0f0f, 0x01010101) >>> 24;
}

/** The first cell whose centre does not lie below a place. */
export const above = (place: number): number => Math.ceil(place - 0.5);

/**
 * The leftmost and the rightmost crossing of a quadrilateral, whose corners in cells stand from `q` on, with the
 * middle lines of some rows: of the row `first` in `left[0]` and `right[0]`.
 */
export function crossed(u: Floats, v: Floats, q: number, first: number, end: number, left: Floats, right: Floats): void {
  for (let i = end - first; i-- > 0; ) {
    left[i] = Infinity;
    right[i] = -Infinity;
  }
  for (let k = 0; k < 4; k++) {
    const a = q + k;
    const b = k === 3 ? q : a + 1;
    const down = v[a] > v[b];
    const from = Math.max(above(v[down ? b : a]), first);
    const to = Math.min(above(v[down ? a : b]), end);
    if (from >= to) continue;
    const slope = (u[b] - u[a]) / (v[b] - v[a]);
    for (let row = from; row < to; row++) {
      const at = u[a] + (row + 0.5 - v[a]) * slope;
      if (at < left[row - first]) left[row - first] = at;
      if (at > right[row - first]) right[row - first] = at;
    }
  }
}

/**
 * Sets the bits of the cells whose centres lie in any of the quadrilaterals.
 *
 * `u` and `v` are the corners in cells, four a quadrilateral: its rear edge from one side to the other, its
 * front edge back.
 */
export function paintQuads(grid: Grid, u: Floats, v: Floats, bits: Ints): void {
  const width = grid.columns + 1;
  const left = new Float64Array(grid.rows);
  const right = new Float64Array(grid.rows);
  // quads of one run follow each other along a row: painted is what they cover together
  const open = new Int32Array(grid.rows).fill(-1);
  const close = new Int32Array(grid.rows);
  const cover = (row: number, first: number, end: number): void => {
    const from = Math.max(first, 0);
    const to = Math.min(end, grid.columns);
    if (from >= to) return;
    if (open[row] >= 0 && from <= close[row] && to >= open[row]) {
      if (from < open[row]) open[row] = from;
      if (to > close[row]) close[row] = to;
      return;
    }
    if (open[row] >= 0) setBits(bits, row * width + open[row], row * width + close[row]);
    open[row] = from;
    close[row] = to;
  };
  const rows = (q: number, first: number, end: number): void => {
    if (first >= end) return;
    crossed(u, v, q, first, end, left, right);
    for (let row = first; row < end; row++) cover(row, above(left[row - first]), above(right[row - first]));
  };
  // Of quads that follow each other, rows that each enters over its rear edge and leaves over its front one need
  // the first and the last of them only. Those from `lo` to `hi` are held, and closed at the last front edge.
  let lo = 0;
  let hi = 0;
  let held = 0;
  const slope = new Float64Array(u.length);
  const at = (edge: number, row: number): number => u[edge] + (row + 0.5 - v[edge]) * slope[edge];
  const closed = (first: number, end: number): void => {
    for (let row = first; row < end; row++) {
      const cell = above(at(held, row));
      cover(row, Math.min(open[row], cell), Math.max(close[row], cell));
    }
  };
  for (let q = 0; q < u.length; q += 4) {
    const v0 = v[q];
    const v1 = v[q + 1];
    const v2 = v[q + 2];
    const v3 = v[q + 3];
    slope[q] = (u[q + 1] - u[q]) / (v1 - v0);
    slope[q + 2] = (u[q + 3] - u[q + 2]) / (v3 - v2);
    const first = Math.max(above(Math.min(v0, v1, v2, v3)), 0);
    const end = Math.min(above(Math.max(v0, v1, v2, v3)), grid.rows);
    const way = v1 > v0 ? -1 : 1;
    const from = Math.max(above(way > 0 ? Math.max(v1, v2) : Math.max(v0, v3)), first);
    const to = Math.min(above(way > 0 ? Math.min(v0, v3) : Math.min(v1, v2)), end);
    const goesOn = (row: number): boolean =>
      way * (at(held, row) - at(q, row)) >= 0 && way * (at(q + 2, row) - at(held, row)) >= 0 && way * (at(q, row) - at(held - 2, row)) >= 0;
    // only where it is in the grid and not empty does a row become this quad's
    const taken = (row: number): boolean =>
      way * (at(q + 2, row) - at(q, row)) >= 1 && Math.min(at(q, row), at(q + 2, row)) >= 1 && Math.max(at(q, row), at(q + 2, row)) < grid.columns;
    let x = Math.max(lo, from);
    let y = Math.min(hi, to);
    if (x >= y || !goesOn(x) || !goesOn(y - 1)) x = y = hi;
    closed(lo, x);
    closed(y, hi);
    if (x < y) {
      rows(q, first, x);
      rows(q, y, end);
    } else rows(q, first, end);
    lo = from;
    hi = to;
    held = q + 2;
    if (lo >= hi || !taken(lo) || !taken(hi - 1)) {
      closed(x, y);
      lo = hi = 0;
    }
  }
  closed(lo, hi);
  for (let row = 0; row < grid.rows; row++) {
    if (open[row] >= 0) setBits(bits, row * width + open[row], row * width + close[row]);
  }
}
