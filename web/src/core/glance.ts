// A first answer from the live grid: what is bare in the paddock, before the day is computed.
//
// Bare cells are opened by one cell (eroded and dilated), which takes out what is narrower than a metre and
// a half or so, and split into parts that hang together. Cells cannot tell a sliver from none: areas are
// good to some parts in a thousand of the paddock, and how many patches there are is not exact.
import { CELL_M, type LiveGrid, TILE } from "./grid";
import { crossings, type Grid, noBits, ones, setBits } from "./raster";
import { boxOf } from "./rings";
import type { Ints, Ring } from "./words";

/** Parts smaller than this are not listed, m². */
const SMALLEST_M2 = 6;

/** A part of bare ground: its area and a cell in it, on the plane. */
export interface Part {
  readonly area_m2: number;
  readonly x_m: number;
  readonly y_m: number;
}

/** What the grid leaves bare of some ground: all of it, and its larger parts, largest first. */
export interface Glance {
  readonly net_m2: number;
  readonly bare_m2: number;
  readonly parts: readonly Part[];
}

/** What is bare of `net`: rings of the paddock less keep-outs, by the even-odd rule. */
export function glance(live: Pick<LiveGrid, "all">, net: readonly Ring[]): Glance {
  const box = boxOf(net);
  if (!(box.east > box.west)) return { net_m2: 0, bare_m2: 0, parts: [] };
  const [west, south] = [Math.floor(box.west / CELL_M) - 2, Math.floor(box.south / CELL_M) - 2];
  // whole words a row, so that a cell's neighbours above and below stand at the same bit
  const width = (Math.ceil(box.east / CELL_M) + 34 - west) & ~31;
  const rows = Math.ceil(box.north / CELL_M) + 2 - south;
  const [x0_m, y0_m] = [west * CELL_M, south * CELL_M];
  const grid: Grid = { x0_m, y0_m, cos: 1, sin: 0, cell_m: CELL_M, rows, columns: width - 1 };
  const [bare, sown] = [noBits(grid), noBits(grid)];
  let inside = 0;
  const edges = crossings(grid, net);
  for (let k = 0; k + 1 < edges.length; k += 2) {
    setBits(bare, edges[k], edges[k + 1]);
    inside += edges[k + 1] - edges[k];
  }
  for (const { column, row, passes } of live.all()) {
    const from = Math.max(west - column * TILE, 0);
    const to = Math.min(west + width - column * TILE, TILE);
    for (let r = Math.max(south - row * TILE, 0); r < Math.min(south + rows - row * TILE, TILE); r++) {
      const at = (row * TILE + r - south) * width + column * TILE - west;
      for (let c = from; c < to; c++) {
        const first = c;
        while (c < to && passes[r * TILE + c] > 0) c += 1;
        setBits(sown, at + first, at + c);
      }
    }
  }
  let cells = 0;
  for (let i = 0; i < bare.length; i++) {
    bare[i] &= ~sown[i];
    cells += ones(bare[i]);
  }
  const cell_m2 = CELL_M ** 2;
  const parts = partsOf(opened(bare, width), width)
    .map(({ count, at }) => ({
      area_m2: count * cell_m2,
      x_m: x0_m + ((at % width) + 0.5) * CELL_M,
      y_m: y0_m + (Math.floor(at / width) + 0.5) * CELL_M,
    }))
    .filter((part) => part.area_m2 >= SMALLEST_M2)
    .sort((a, b) => b.area_m2 - a.area_m2);
  return { net_m2: inside * cell_m2, bare_m2: cells * cell_m2, parts };
}

/** Eroded and dilated by one cell to all eight sides; rows begin and end free. */
function opened(bare: Ints, width: number): Ints {
  const [side, out] = [new Int32Array(bare.length), new Int32Array(bare.length)];
  const [up, last] = [width >> 5, bare.length - (width >> 5)];
  for (let i = 0; i < bare.length; i++) side[i] = bare[i] & ((bare[i] << 1) | (bare[i - 1] >>> 31)) & ((bare[i] >>> 1) | (bare[i + 1] << 31));
  for (let i = up; i < last; i++) out[i] = side[i - up] & side[i] & side[i + up];
  for (let i = 0; i < bare.length; i++) side[i] = out[i] | (out[i] << 1) | (out[i - 1] >>> 31) | (out[i] >>> 1) | (out[i + 1] << 31);
  for (let i = up; i < last; i++) out[i] = side[i - up] | side[i] | side[i + up];
  return out;
}

/** Parts that hang together by their sides: how many cells, and the middle one of the longest row. */
function partsOf(cells: Ints, width: number): { count: number; at: number }[] {
  // stretches of a row are joined with those they touch in the row before
  const [begin, end, up]: number[][] = [[], [], []];
  const top = (k: number): number => {
    let at = k;
    while (up[at] !== at) at = up[at] = up[up[at]];
    return at;
  };
  let before = 0;
  let here = 0;
  const set = (i: number): boolean => (cells[i >> 5] & (1 << (i & 31))) !== 0;
  for (let row = 0; row * width < 32 * cells.length; row++) {
    let old = before;
    before = here = begin.length;
    for (let i = row * width; i < (row + 1) * width; i++) {
      if (cells[i >> 5] === 0) i |= 31;
      if (!set(i)) continue;
      const from = i;
      while (set(i)) i += 1;
      begin.push(from);
      end.push(i);
      up.push(here);
      for (; old < before && begin[old] + width < i; old++) {
        if (end[old] + width > from) up[top(here)] = top(old);
        if (end[old] + width > i) break;
      }
      here += 1;
    }
  }
  const parts = new Map<number, { count: number; at: number; longest: number }>();
  begin.forEach((from, k) => {
    const length = end[k] - from;
    const part = parts.get(top(k)) ?? { count: 0, at: 0, longest: 0 };
    part.count += length;
    if (length > part.longest) [part.longest, part.at] = [length, from + (length >> 1)];
    parts.set(top(k), part);
  });
  return [...parts.values()];
}
