// The lever entries that can be taken back: those of this page, and the last one that the log had.
import type { Mark } from "../../core/words";
import type { Keeper } from "../../keep/keep";

export class Levers {
  private readonly made: Promise<number | null>[] = [];
  private before: number | null = null;

  constructor(private readonly log: Pick<Keeper, "unstored">) {}

  /** A new one; resolves to its number once it is stored, to null when that failed. */
  add(seq: Promise<number | null>): void {
    this.made.push(seq);
  }

  /** What the log has as its last one. */
  found(lever: Mark | null): void {
    this.before = this.made.length === 0 ? (lever?.seq ?? null) : this.before;
  }

  any(): boolean {
    return this.made.length > 0 || this.before !== null;
  }

  /** The number of the last one, which is then no more to be taken back. */
  async take(): Promise<number | null> {
    const last = this.made.pop();
    if (last === undefined) {
      const { before } = this;
      this.before = null;
      return before;
    }
    // what could not be stored is in memory, with the number it will have
    return (await last) ?? this.waiting();
  }

  private waiting(): number | null {
    const levers = this.log.unstored().filter(({ kind }) => kind === "lever");
    return levers[levers.length - 1]?.seq ?? null;
  }
}
