// The day's working speed: the median of what was driven with the tool down, held in a few counters.

const BIN_M_S = 0.05;
const BINS = 160;
/** So many seconds tell it. */
const ENOUGH = 60;

export class Usual {
  private readonly counts = new Uint32Array(BINS);
  private total = 0;
  /** The median as it was last looked for; null: not since the last one came. */
  private known: number | null = null;

  add(speed_m_s: number): void {
    const bin = Math.min(Math.max(Math.floor(speed_m_s / BIN_M_S), 0), BINS - 1);
    this.counts[bin] = (this.counts[bin] ?? 0) + 1;
    this.total += 1;
    this.known = null;
  }

  /** m/s; NaN while too little was driven. */
  median(): number {
    this.known ??= this.look();
    return this.known;
  }

  private look(): number {
    if (this.total < ENOUGH) return Number.NaN;
    let sum = 0;
    for (let i = 0; i < BINS; i++) {
      sum += this.counts[i] ?? 0;
      if (2 * sum >= this.total) return (i + 0.5) * BIN_M_S;
    }
    return Number.NaN;
  }
}
