// A grid of cells for sweeping many draws quickly: which cell centres lie in which strips.
//
// The grid lies along the day's main direction of travel, so that a quadrilateral of a straight run
// crosses few rows. A quadrilateral marks the cells whose centres it holds, row by row from its leftmost
// to its rightmost crossing; polygons are filled by the even-odd rule. Touching shapes share no cell and
// leave none out, because intervals are half open.
//
// Cells are numbered row by row; a row is `columns` + 1 long, its last cell always free. (Home holds a
// draw as sorted intervals; here it is painted, which costs less where memory is near.)
import type { Flags, Floats, Ints, Ring } from "./words";

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
  let [west, east, south, north] = [Infinity, -Infinity, Infinity, -Infinity];
  for (const ring of rings) {
    for (let i = 0; i < ring.length; i += 2) {
      const u = cos * ring[i] + sin * ring[i + 1];
      const v = cos * ring[i + 1] - sin * ring[i];
      west = Math.min(west, u);
      east = Math.max(east, u);
      south = Math.min(south, v);
      north = Math.max(north, v);
    }
  }
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

/** The numbers of the cells whose centres lie in some rings by the even-odd rule, increasing. */
export function polygonCells(grid: Grid, rings: readonly Ring[]): Ints {
  const width = grid.columns + 1;
  const crossings: number[] = [];
  for (const ring of rings) {
    const n = ring.length;
    for (let i = 0, j = n - 2; i < n; j = i, i += 2) {
      const [ua, va] = [columnOf(grid, ring[j], ring[j + 1]), rowOf(grid, ring[j], ring[j + 1])];
      const [ub, vb] = [columnOf(grid, ring[i], ring[i + 1]), rowOf(grid, ring[i], ring[i + 1])];
      const first = Math.max(Math.ceil(Math.min(va, vb) - 0.5), 0);
      const last = Math.min(Math.ceil(Math.max(va, vb) - 0.5) - 1, grid.rows - 1);
      for (let row = first; row <= last; row++) {
        const u = ua + ((row + 0.5 - va) / (vb - va)) * (ub - ua);
        crossings.push(row * width + Math.min(Math.max(Math.ceil(u - 0.5), 0), grid.columns));
      }
    }
  }
  const flat = Int32Array.from(crossings).sort();
  let count = 0;
  for (let k = 0; k + 1 < flat.length; k += 2) count += flat[k + 1] - flat[k];
  const out = new Int32Array(count);
  let at = 0;
  for (let k = 0; k + 1 < flat.length; k += 2) {
    // a row is crossed inwards, then outwards
    for (let cell = flat[k]; cell < flat[k + 1]; cell++) out[at++] = cell;
  }
  return out;
}

/**
 * Paints the cells whose centres lie in any of the quadrilaterals: sets them to `mark`.
 *
 * `u` and `v` are the corners in cells, four a quadrilateral, one after another round it.
 */
export function paintQuads(grid: Grid, u: Floats, v: Floats, mark: number, cells: Flags): void {
  const width = grid.columns + 1;
  const left = new Float64Array(grid.rows);
  const right = new Float64Array(grid.rows);
  // quads of one run follow each other along a row: painted is what they cover together
  const open = new Int32Array(grid.rows).fill(-1);
  const close = new Int32Array(grid.rows);
  for (let q = 0; q < u.length; q += 4) {
    const low = Math.min(v[q], v[q + 1], v[q + 2], v[q + 3]);
    const high = Math.max(v[q], v[q + 1], v[q + 2], v[q + 3]);
    const first = Math.max(Math.ceil(low - 0.5), 0);
    const end = Math.min(Math.ceil(high - 0.5), grid.rows);
    for (let row = first; row < end; row++) {
      left[row] = Infinity;
      right[row] = -Infinity;
    }
    for (let k = 0; k < 4; k++) {
      const a = q + k;
      const b = k === 3 ? q : a + 1;
      const down = v[a] > v[b];
      const [bottom, top] = down ? [b, a] : [a, b];
      const from = Math.max(Math.ceil(v[bottom] - 0.5), 0);
      const to = Math.min(Math.ceil(v[top] - 0.5), grid.rows);
      if (from >= to) continue;
      const slope = (u[b] - u[a]) / (v[b] - v[a]);
      for (let row = from; row < to; row++) {
        const at = u[a] + (row + 0.5 - v[a]) * slope;
        if (at < left[row]) left[row] = at;
        if (at > right[row]) right[row] = at;
      }
    }
    for (let row = first; row < end; row++) {
      const from = Math.max(Math.ceil(left[row] - 0.5), 0);
      const to = Math.min(Math.ceil(right[row] - 0.5), grid.columns);
      if (from >= to) continue;
      if (open[row] >= 0 && from <= close[row] && to >= open[row]) {
        if (from < open[row]) open[row] = from;
        if (to > close[row]) close[row] = to;
        continue;
      }
      if (open[row] >= 0) cells.fill(mark, row * width + open[row], row * width + close[row]);
      open[row] = from;
      close[row] = to;
    }
  }
  for (let row = 0; row < grid.rows; row++) {
    if (open[row] >= 0) cells.fill(mark, row * width + open[row], row * width + close[row]);
  }
}
