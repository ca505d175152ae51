// A first answer from the live grid: what is bare in the paddock, before the day is computed.
//
// Bare cells are opened by one cell (eroded and dilated), which takes out what is narrower than a metre and
// a half or so, and split into parts that hang together. Cells cannot tell a sliver from none: areas are
// good to some parts in a thousand of the paddock, and how many patches there are is not exact.
import { CELL_M, type LiveGrid, TILE } from "./grid";
import { type Grid, polygonCells } from "./raster";
import { boxOf } from "./rings";
import type { Flags, Ring } from "./words";

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
  const columns = Math.ceil(box.east / CELL_M) + 2 - west;
  const rows = Math.ceil(box.north / CELL_M) + 2 - south;
  const [x0_m, y0_m] = [west * CELL_M, south * CELL_M];
  const grid: Grid = { x0_m, y0_m, cos: 1, sin: 0, cell_m: CELL_M, rows, columns };
  const inside = polygonCells(grid, net);
  const bare = new Uint8Array(rows * (columns + 1));
  for (const cell of inside) bare[cell] = 1;
  const width = columns + 1;
  for (const tile of live.all()) {
    for (let r = 0; r < TILE; r++) {
      const row = tile.row * TILE + r - south;
      if (row < 0 || row >= rows) continue;
      const from = Math.max(west - tile.column * TILE, 0);
      const to = Math.min(west + columns - tile.column * TILE, TILE);
      let at = row * width + tile.column * TILE + from - west;
      for (let c = from; c < to; c++, at++) if (tile.passes[r * TILE + c] > 0) bare[at] = 0;
    }
  }
  let cells = 0;
  for (let i = 0; i < bare.length; i++) cells += bare[i];
  const cell_m2 = CELL_M ** 2;
  const parts = partsOf(opened(bare, width), width)
    .map(({ count, at }) => ({
      area_m2: count * cell_m2,
      x_m: x0_m + ((at % width) + 0.5) * CELL_M,
      y_m: y0_m + (Math.floor(at / width) + 0.5) * CELL_M,
    }))
    .filter((part) => part.area_m2 >= SMALLEST_M2)
    .sort((a, b) => b.area_m2 - a.area_m2);
  return { net_m2: inside.length * cell_m2, bare_m2: cells * cell_m2, parts };
}

/** Eroded and dilated by one cell to all eight sides; rows begin and end free. */
function opened(bare: Flags, width: number): Flags {
  const [side, out] = [new Uint8Array(bare.length), new Uint8Array(bare.length)];
  const last = bare.length - width;
  for (let i = 1; i + 1 < bare.length; i++) side[i] = bare[i - 1] & bare[i] & bare[i + 1];
  for (let i = width; i < last; i++) out[i] = side[i - width] & side[i] & side[i + width];
  for (let i = 1; i + 1 < bare.length; i++) side[i] = out[i - 1] | out[i] | out[i + 1];
  for (let i = width; i < last; i++) out[i] = side[i - width] | side[i] | side[i + width];
  return out;
}

/** Parts that hang together by their sides: how many cells, and the middle one of the longest row. */
function partsOf(cells: Flags, width: number): { count: number; at: number }[] {
  // stretches of a row are joined with those they touch in the row before
  const [begin, end, up]: number[][] = [[], [], []];
  const top = (k: number): number => {
    let at = k;
    while (up[at] !== at) at = up[at] = up[up[at]];
    return at;
  };
  let before = 0;
  let here = 0;
  for (let row = 0; row * width < cells.length; row++) {
    let old = before;
    before = here = begin.length;
    for (let i = row * width; i < (row + 1) * width; i++) {
      if (!cells[i]) continue;
      const from = i;
      while (cells[i]) i += 1;
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
