// The ground as it is sown, painted while driving: how often each half metre was passed over. Only here.
//
// Cells lie square to the plane's axes and come in tiles, made when the bar first reaches them. What the
// bar sweeps between two poses is a quadrilateral, filled row by row from its leftmost to its rightmost
// crossing; intervals are half open, so quads that share an edge share no cell. The cost is that of what
// is new and does not grow with the day.
//
// A cell keeps which moment passed over it last, so that a second visit is told from the same one: a pass
// that follows within 20 s or two widths of way in one run is the same visit, as in `cover`.
import type { Flags, Floats } from "./words";

/** A cell's side, m, and how many cells a tile has along each. */
export const CELL_M = 0.5;
export const TILE = 256;
/** A moment lasts this long at most, s, and no longer than this part of the two widths. */
const MOMENT_S = 2;
const MOMENT_PART = 1 / 8;
/** Revisits of one run count as another visit beyond this time and this many widths of way. */
const VISIT_S = 20;
const VISIT_WIDTHS = 2;
/** Tiles are numbered from this far west and south of the plane's middle. */
const FAR = 0x4000;
/** A quad longer or wider than so many cells is nothing a bar sweeps. */
const MOST_CELLS = 4 * TILE;
/** So many passes are told apart. */
const MOST = 255;
/** So many moments are told apart: a day of a day and a half. */
const MOMENTS = 0xffff;

/** Cells from (west, south) up to and without (east, north), counted in the tile. */
export interface Rect {
  west: number;
  south: number;
  east: number;
  north: number;
}

/** A square of cells: `passes`, row by row from the south-west; `column` and `row` number the tile. */
export interface Tile {
  readonly column: number;
  readonly row: number;
  readonly passes: Flags;
}

interface Kept extends Tile {
  /** The moment that passed over each cell last. */
  readonly last: Uint16Array;
  dirty: Rect | null;
}

/** The bar at one moment: which run, when, and the way it has gone. */
export interface Moment {
  readonly run: number;
  readonly t_s: number;
  readonly way_m: number;
  readonly width_m: number;
}

export class LiveGrid {
  /** Cells passed over, and cells passed over in more than one visit. */
  covered = 0;
  twice = 0;
  private readonly tiles = new Map<number, Kept>();
  private painted: Kept | null = null;
  private readonly run = new Int32Array(MOMENTS + 1).fill(-1);
  private readonly t_s = new Float64Array(MOMENTS + 1);
  private readonly way_m = new Float64Array(MOMENTS + 1);
  private now = 0;
  /** Of each row of a quad the first cell, and the first beyond it. */
  private readonly from = new Int32Array(MOST_CELLS);
  private readonly to = new Int32Array(MOST_CELLS);

  /**
   * Paints what a bar swept between two poses: corners x0, y0, … x3, y3 on the plane, one after another
   * round it, m. A quad more than 500 m long or wide is nothing a bar sweeps and is left out.
   */
  paint(quad: ArrayLike<number>, moment: Moment): void {
    this.tick(moment);
    const south = cellOf(Math.min(quad[1], quad[3], quad[5], quad[7]));
    const north = cellOf(Math.max(quad[1], quad[3], quad[5], quad[7]));
    const west = cellOf(Math.min(quad[0], quad[2], quad[4], quad[6]));
    const east = cellOf(Math.max(quad[0], quad[2], quad[4], quad[6]));
    if (!(north - south <= MOST_CELLS && east - west <= MOST_CELLS)) return;
    this.crossings(quad, south, north);
    // nearly always one tile
    for (let row = south; row < north; row = (row | 255) + 1) {
      for (let column = west; column <= east; column = (column | 255) + 1) this.fill(column >> 8, row, Math.min(north, (row | 255) + 1), south, moment);
    }
  }

  /** How often the ground at a place was passed over, visit by visit. */
  passesAt(x_m: number, y_m: number): number {
    const [column, row] = [Math.floor(x_m / CELL_M), Math.floor(y_m / CELL_M)];
    const tile = this.tiles.get(keyOf(column >> 8, row >> 8));
    return tile === undefined ? 0 : tile.passes[((row & 255) << 8) | (column & 255)];
  }

  /** Whether an earlier visit than the bar's own passed over a place. */
  sownBefore(x_m: number, y_m: number, moment: Moment): boolean {
    const [column, row] = [Math.floor(x_m / CELL_M), Math.floor(y_m / CELL_M)];
    const tile = this.tiles.get(keyOf(column >> 8, row >> 8));
    if (tile === undefined) return false;
    const at = ((row & 255) << 8) | (column & 255);
    const passes = tile.passes[at];
    return passes > 1 || (passes === 1 && !this.same(tile.last[at], moment));
  }

  /** When an earlier visit than the bar's own last passed over a place, s; NaN where none did. */
  sownAt(x_m: number, y_m: number, moment: Moment): number {
    if (!this.sownBefore(x_m, y_m, moment)) return Number.NaN;
    const [column, row] = [Math.floor(x_m / CELL_M), Math.floor(y_m / CELL_M)];
    const last = this.tiles.get(keyOf(column >> 8, row >> 8))?.last[((row & 255) << 8) | (column & 255)];
    return last === undefined ? Number.NaN : this.t_s[last];
  }

  /** Every tile there is. */
  all(): Iterable<Tile> {
    return this.tiles.values();
  }

  /** The tile that holds a cell, where there is one. */
  tile(column: number, row: number): Tile | undefined {
    return this.tiles.get(keyOf(column, row));
  }

  /** Hands over what changed since it was last asked, tile by tile. */
  changed(see: (tile: Tile, rect: Rect) => void): void {
    for (const tile of this.tiles.values()) {
      if (tile.dirty === null) continue;
      see(tile, tile.dirty);
      tile.dirty = null;
    }
  }

  /** A new moment where the run is another one, or the last has lasted long enough. */
  private tick({ run, t_s, way_m, width_m }: Moment): void {
    const { now } = this;
    const long = VISIT_WIDTHS * width_m * MOMENT_PART;
    if (
      this.run[now] === run &&
      t_s - this.t_s[now] < MOMENT_S &&
      way_m - this.way_m[now] < long
    ) {
      return;
    }
    // after so many moments the numbers begin again: who passed a day and a half ago is then forgotten
    this.now = (now + 1) % (MOMENTS + 1);
    this.run[this.now] = run;
    this.t_s[this.now] = t_s;
    this.way_m[this.now] = way_m;
  }

  private same(moment: number, { run, t_s, way_m, width_m }: Moment): boolean {
    return (
      this.run[moment] === run &&
      (t_s - this.t_s[moment] <= VISIT_S ||
        way_m - this.way_m[moment] <= VISIT_WIDTHS * width_m)
    );
  }

  /** The cells from the leftmost to the rightmost crossing of the quad with each row of centres. */
  private crossings(quad: ArrayLike<number>, south: number, north: number): void {
    const { from, to } = this;
    for (let i = north - south; i-- > 0; ) {
      from[i] = FAR << 8;
      to[i] = -FAR << 8;
    }
    for (let k = 0; k < 8; k += 2) {
      const j = (k + 2) & 7;
      const xa = quad[k];
      const ya = quad[k + 1];
      const yb = quad[j + 1];
      const down = ya > yb;
      const top = cellOf(down ? ya : yb);
      let row = cellOf(down ? yb : ya);
      if (row >= top) continue;
      const slope = (quad[j] - xa) / (yb - ya);
      for (; row < top; row++) {
        const cell = cellOf(xa + ((row + 0.5) * CELL_M - ya) * slope);
        const i = row - south;
        if (cell < from[i]) from[i] = cell;
        if (cell > to[i]) to[i] = cell;
      }
    }
  }

  /** The cells of some rows that lie in one column of tiles; `first` is the first row that was crossed. */
  private fill(column: number, south: number, north: number, first: number, moment: Moment): void {
    const { now, from, to } = this;
    const [begin, end] = [column << 8, (column + 1) << 8];
    let tile: Kept | null = null;
    let fresh = 0;
    let [west, east] = [end, begin];
    for (let row = south; row < north; row++) {
      const a = Math.max(from[row - first], begin);
      const b = Math.min(to[row - first], end);
      if (a >= b) continue;
      if (a < west) west = a;
      if (b > east) east = b;
      tile ??= this.made(column, row >> 8);
      const { passes, last } = tile;
      const base = ((row & 255) << 8) - begin;
      for (let at = base + a; at < base + b; at++) {
        const before = passes[at];
        if (before === 0) {
          fresh += 1;
          passes[at] = 1;
        } else {
          const seen = last[at];
          if (seen === now) continue;
          if (before < MOST && !this.same(seen, moment)) {
            if (before === 1) this.twice += 1;
            passes[at] = before + 1;
          }
        }
        last[at] = now;
      }
    }
    this.covered += fresh;
    if (tile !== null) grow(tile, west - begin, south & 255, east - begin, ((north - 1) & 255) + 1);
  }

  private made(column: number, row: number): Kept {
    // nearly always the one that was painted last
    if (this.painted?.column === column && this.painted.row === row) return this.painted;
    const key = keyOf(column, row);
    const known = this.tiles.get(key);
    if (known !== undefined) return (this.painted = known);
    const size = TILE * TILE;
    const passes = new Uint8Array(size);
    const tile: Kept = { column, row, passes, last: new Uint16Array(size), dirty: null };
    this.tiles.set(key, tile);
    return (this.painted = tile);
  }
}

/** The first cell, or row, whose middle is not before a place. */
const cellOf = (m: number): number => Math.ceil(m / CELL_M - 0.5);

function keyOf(column: number, row: number): number {
  return (row + FAR) * 2 * FAR + (column + FAR);
}

function grow(tile: Kept, west: number, south: number, east: number, north: number): void {
  const { dirty } = tile;
  if (dirty === null) {
    tile.dirty = { west, south, east, north };
    return;
  }
  if (west < dirty.west) dirty.west = west;
  if (south < dirty.south) dirty.south = south;
  if (east > dirty.east) dirty.east = east;
  if (north > dirty.north) dirty.north = north;
}

/**
 * The quads that a bar swept along poses, eight numbers each: from its rear rank at one pose to its front
 * rank at the next. Left and right ends go by turns as `paint` wants them.
 */
export function quadsAlong(
  poses: { readonly x_m: Floats; readonly y_m: Floats; readonly heading_rad: Floats },
  tool: { readonly front_rank_m: number; readonly rear_rank_m: number; readonly width_m: number },
): Floats {
  const n = poses.x_m.length;
  const out = new Float64Array(Math.max(8 * (n - 1), 0));
  const half = tool.width_m / 2;
  for (let i = 0; i + 1 < n; i++) {
    for (const [j, ahead, at] of [
      [i, tool.rear_rank_m, 0],
      [i + 1, tool.front_rank_m, 4],
    ] as const) {
      const [c, s] = [Math.cos(poses.heading_rad[j]), Math.sin(poses.heading_rad[j])];
      const [x, y] = [poses.x_m[j] + ahead * c, poses.y_m[j] + ahead * s];
      const sign = at === 0 ? 1 : -1;
      out[8 * i + at] = x - sign * half * s;
      out[8 * i + at + 1] = y + sign * half * c;
      out[8 * i + at + 2] = x + sign * half * s;
      out[8 * i + at + 3] = y - sign * half * c;
    }
  }
  return out;
}
