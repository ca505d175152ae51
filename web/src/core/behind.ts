// What the bar sowed on the last way, stretch by stretch: for when seed turns out to have stopped before anybody
// saw it. Rows of numbers in a ring, so that nothing is made or thrown away with a step.
import type { LiveGrid, Moment } from "./grid";
import type { Floats } from "./words";

/** Of a row: eight corners, the run, when, the way, the width. */
const ROW = 12;
const RUN = 8;
const WHEN = 9;
const WAY = 10;
const WIDTH = 11;

export class Behind {
  private rows = new Float64Array(64 * ROW);
  private first = 0;
  private count = 0;

  /** Remembers a quad as it was painted. */
  push(quad: Floats, { run, t_s, way_m, width_m }: Moment): void {
    if (this.count * ROW === this.rows.length) this.grow();
    const { rows } = this;
    const at = this.at(this.count);
    for (let i = 0; i < RUN; i++) rows[at + i] = quad[i];
    rows[at + RUN] = run;
    rows[at + WHEN] = t_s;
    rows[at + WAY] = way_m;
    rows[at + WIDTH] = width_m;
    this.count += 1;
  }

  /** Forgets what lies further back than this on the way. */
  forget(way_m: number): void {
    while (this.count > 0 && this.rows[this.first + WAY] < way_m) {
      this.first = this.at(1);
      this.count -= 1;
    }
  }

  /** Paints what one run sowed from a moment on, once more. */
  paint(grid: LiveGrid, run: number, from_s: number): void {
    for (let k = 0; k < this.count; k++) {
      const row = this.rows.subarray(this.at(k), this.at(k) + ROW);
      if (row[RUN] !== run || row[WHEN] < from_s) continue;
      grid.paint(row, { run, t_s: row[WHEN], way_m: row[WAY], width_m: row[WIDTH] });
    }
  }

  private at(k: number): number {
    const at = this.first + k * ROW;
    return at < this.rows.length ? at : at - this.rows.length;
  }

  /** Room for twice as many, the oldest first. */
  private grow(): void {
    const { rows, first } = this;
    this.rows = new Float64Array(2 * rows.length);
    this.rows.set(rows.subarray(first));
    this.rows.set(rows.subarray(0, first), rows.length - first);
    this.first = 0;
  }
}
