// Ground seeded while driving, as often as it was: what the bins are reckoned with between two counts.
import { median } from "../core/columns";
import type { Seeded } from "../core/ledger";

/** One moment is kept of so many seconds. */
const EVERY_S = 10;
/** The runs that tell the length of a round, as in core/ledger. */
const LAST = 6;
const LONG_M = 100;
const CLOSED = 0.2;

interface Run {
  readonly number: number;
  readonly x_m: number;
  readonly y_m: number;
  to_x: number;
  to_y: number;
  length_m: number;
}

export class Metered {
  private readonly t_s: number[] = [];
  private readonly ha: number[] = [];
  private runs: Run[] = [];

  /** So much way with seed came to an end at a place and a time. */
  add(run: number, t_s: number, way_m: number, width_m: number, x_m: number, y_m: number): void {
    const last = this.t_s.length - 1;
    const sum = (this.ha[last] ?? 0) + (way_m * width_m) / 1e4;
    if (last > 0 && t_s - (this.t_s[last - 1] ?? 0) < EVERY_S) {
      this.t_s[last] = t_s;
      this.ha[last] = sum;
    } else {
      this.t_s.push(t_s);
      this.ha.push(sum);
    }
    let now = this.runs[this.runs.length - 1];
    if (now?.number !== run) {
      now = { number: run, x_m, y_m, to_x: x_m, to_y: y_m, length_m: 0 };
      this.runs.push(now);
      if (this.runs.length > 4 * LAST) this.runs = this.runs.slice(-2 * LAST);
    }
    now.length_m += way_m;
    now.to_x = x_m;
    now.to_y = y_m;
  }

  seeded(): Seeded {
    return { t_s: Float64Array.from(this.t_s), ha: Float64Array.from(this.ha) };
  }

  /** The way with seed of one round, once round or up and back, m; null where no run tells it. */
  round_m(): number | null {
    const whole = this.runs.filter(({ length_m }) => length_m >= LONG_M);
    const lengths = whole.map(({ x_m, y_m, to_x, to_y, length_m }) => (Math.hypot(to_x - x_m, to_y - y_m) < CLOSED * length_m ? length_m : 2 * length_m));
    return lengths.length === 0 ? null : median(lengths.slice(-LAST));
  }
}
