// A first answer from the live grid: what is bare in the paddock, before the day is computed.
//
// Cells cannot tell a sliver from none: areas are good to some parts in a thousand of the paddock.
import { CELL_M, type LiveGrid, TILE } from "./grid";
import { crossings, type Grid } from "./raster";
import { boxOf } from "./rings";
import type { Flags, Ring } from "./words";

/** Some ground, and what the grid leaves bare of it. */
export interface Glance {
  readonly net_m2: number;
  readonly bare_m2: number;
}

/** What is bare of `net`: rings of the paddock less keep-outs, by the even-odd rule. */
export function glance(live: Pick<LiveGrid, "all">, net: readonly Ring[]): Glance {
  const box = boxOf(net);
  if (!(box.east > box.west)) return { net_m2: 0, bare_m2: 0 };
  const [west, south] = [Math.floor(box.west / CELL_M) - 2, Math.floor(box.south / CELL_M) - 2];
  const columns = Math.ceil(box.east / CELL_M) + 2 - west;
  const rows = Math.ceil(box.north / CELL_M) + 2 - south;
  const grid: Grid = { x0_m: west * CELL_M, y0_m: south * CELL_M, cos: 1, sin: 0, cell_m: CELL_M, rows, columns };
  const tiles: Record<string, Flags> = {};
  for (const { column, row, passes } of live.all()) tiles[`${column} ${row}`] = passes;
  let [inside, bare] = [0, 0];
  const edges = crossings(grid, net);
  for (let k = 0; k + 1 < edges.length; k += 2) {
    inside += edges[k + 1] - edges[k];
    const row = Math.floor(edges[k] / (columns + 1));
    const first = west - row * (columns + 1);
    for (let c = edges[k] + first, next = 0; c < edges[k + 1] + first; c = next) {
      next = Math.min(edges[k + 1] + first, (c | (TILE - 1)) + 1);
      const passes = tiles[`${c >> 8} ${(row + south) >> 8}`];
      const at = ((row + south) & (TILE - 1)) * TILE;
      for (; c < next; c++) if (!passes?.[at + (c & (TILE - 1))]) bare += 1;
    }
  }
  return { net_m2: inside * CELL_M ** 2, bare_m2: bare * CELL_M ** 2 };
}
