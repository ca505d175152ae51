// Points near a place: a grid of square cells, each with the points in it.
import { byKey } from "./columns";
import type { Floats, Ints } from "./words";

export class Near {
  private readonly x: Floats;
  private readonly y: Floats;
  private readonly west: number;
  private readonly south: number;
  private readonly cell_m: number;
  private readonly columns: number;
  private readonly rows: number;
  /** Points by cell: those of cell c from `start[c]` to `start[c + 1]`. */
  private readonly start: Ints;
  private readonly point: Ints;

  /** Points (x, y) to be asked for within about `reach_m`. */
  constructor(x: Floats, y: Floats, reach_m: number) {
    this.x = x;
    this.y = y;
    let [west, south, east, north] = [Infinity, Infinity, -Infinity, -Infinity];
    for (let i = 0; i < x.length; i++) {
      west = Math.min(west, x[i]);
      east = Math.max(east, x[i]);
      south = Math.min(south, y[i]);
      north = Math.max(north, y[i]);
    }
    [this.west, this.south] = [west, south];
    const [wide, high] = [Math.max(east - west, 0), Math.max(north - south, 0)];
    // no more cells than there are points, however far the farthest lies
    const least = Math.max(
      Math.sqrt((wide * high) / (x.length + 1)),
      (wide + high) / (x.length + 1),
    );
    this.cell_m = Math.max(reach_m, least, 1e-3);
    this.columns = Math.floor(wide / this.cell_m) + 1;
    this.rows = Math.floor(high / this.cell_m) + 1;
    const cells = new Int32Array(x.length).map((_, i) => this.cellOf(i));
    ({ start: this.start, index: this.point } = byKey(cells, this.columns * this.rows));
  }

  /** Indices of the points no farther than `reach_m` from a place, in no order. */
  within(x: number, y: number, reach_m: number): number[] {
    const out: number[] = [];
    const left = Math.max(Math.floor((x - reach_m - this.west) / this.cell_m), 0);
    const right = Math.min(Math.floor((x + reach_m - this.west) / this.cell_m), this.columns - 1);
    const low = Math.max(Math.floor((y - reach_m - this.south) / this.cell_m), 0);
    const high = Math.min(Math.floor((y + reach_m - this.south) / this.cell_m), this.rows - 1);
    for (let row = low; row <= high; row++) {
      for (let column = left; column <= right; column++) {
        const cell = row * this.columns + column;
        for (let k = this.start[cell]; k < this.start[cell + 1]; k++) {
          const p = this.point[k];
          const dx = this.x[p] - x;
          const dy = this.y[p] - y;
          if (dx * dx + dy * dy <= reach_m * reach_m) out.push(p);
        }
      }
    }
    return out;
  }

  private cellOf(i: number): number {
    const column = Math.floor((this.x[i] - this.west) / this.cell_m);
    return Math.floor((this.y[i] - this.south) / this.cell_m) * this.columns + column;
  }
}
