// Cells of a grid one by one, where the engine keeps spans of them.
import { type Grid, crossings } from "../../../web/src/core/raster";
import type { Ring } from "../../../web/src/core/words";

/** The numbers of the cells whose centres lie in some rings by the even-odd rule, increasing. */
export function cellsIn(grid: Grid, rings: readonly Ring[]): number[] {
  const at = crossings(grid, rings);
  const cells: number[] = [];
  // a row is crossed inwards, then outwards
  for (let k = 0; k < at.length; k += 2) for (let cell = at[k] ?? 0; cell < (at[k + 1] ?? 0); cell++) cells.push(cell);
  return cells;
}
