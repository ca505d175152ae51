// When every opener seeds, from the lever's entries as they come: what `timeRuns` does for a whole day, for
// the picture on the way. Seconds since the day's beginning.
import { startDelay, stopDelay } from "./lever";
import type { Times } from "./words";

/** Seed falls from all openers from `on_s` to `off_s`, in the run of this number. */
export interface Window {
  readonly run: number;
  readonly on_s: number;
  off_s: number;
  /** The way when it began; NaN while that is ahead. */
  begun_m: number;
}

export class Seeding {
  /** How often the tool went down. */
  run = 0;
  down = false;
  flowing = true;
  /** The points are in the ground from and to. */
  private inFrom_s = Infinity;
  private inTo_s = -Infinity;
  private stopped_s = -Infinity;
  private readonly windows: Window[] = [];

  constructor(private readonly times: Times) {}

  lever(t_s: number, down: boolean): void {
    if (down === this.down) return;
    this.down = down;
    if (down) {
      this.run += 1;
      this.inFrom_s = t_s + this.times.lower_s;
      this.inTo_s = Infinity;
      if (this.flowing) this.open(t_s, this.filled(t_s));
    } else {
      this.inTo_s = t_s + this.times.raise_s;
      if (this.flowing) this.close(t_s, stopDelay(this.times));
    }
  }

  /** Seed stopped or runs again, whatever the lever does. */
  flow(t_s: number, on: boolean): void {
    if (on === this.flowing) return;
    this.flowing = on;
    if (!this.down) return;
    if (on) this.open(t_s, this.filled(t_s));
    else this.close(t_s, 0);
  }

  /** Whether the points are in the ground. */
  inGround(t_s: number): boolean {
    return t_s >= this.inFrom_s && t_s < this.inTo_s;
  }

  /** The windows that may touch what comes after a moment; older ones are forgotten. */
  from(t_s: number): readonly Window[] {
    const { windows } = this;
    while (windows.length > 0 && windows[0].off_s <= t_s) windows.shift();
    return windows;
  }

  private filled(t_s: number): number {
    const { times } = this;
    const drain = times.drain_s ?? times.fill_s;
    const empty = t_s + times.meter_s - this.stopped_s;
    if (!(drain > 0) || empty >= drain) return startDelay(times);
    return Math.max(times.lower_s, times.meter_s + times.fill_s * Math.max(0, empty / drain));
  }

  private open(t_s: number, after_s: number): void {
    this.windows.push({ run: this.run, on_s: t_s + after_s, off_s: Infinity, begun_m: Number.NaN });
  }

  private close(t_s: number, after_s: number): void {
    const last = this.windows[this.windows.length - 1];
    if (last !== undefined && last.off_s === Infinity) last.off_s = Math.max(last.on_s, t_s + after_s);
    this.stopped_s = t_s;
  }
}
