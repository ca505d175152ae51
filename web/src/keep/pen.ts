// Gives entries their numbers and writes them, in order, all of them: what could not be written stays
// in memory and goes first next time, so the numbers on the disk never have a gap.
import { VERSION, type Draft, type Entry } from "./entry";
import type { Trouble, Write } from "./keep";
import { KeepError, troubleOf } from "./trouble";

/** How the pen reaches the disk. Both reject with a KeepError. */
export interface Paper {
  /** Stores entries, all or none; resolves when they are durable. */
  put(entries: readonly Entry[]): Promise<void>;
  /** The last number on the disk. */
  last(): Promise<number>;
}

/** Timers, so that tests need not wait. */
export interface Timing {
  now(): number;
  after(ms: number, act: () => void): () => void;
}

export const REAL_TIME: Timing = {
  now: () => performance.now(),
  after(ms, act) {
    const timer = setTimeout(act, ms);
    return () => clearTimeout(timer);
  },
};

/** Fixes wait for one another so long at most: a disk is asked once a second, not ten times. */
const TOGETHER_MS = 900;
/** After a failure the disk is left alone so long, and twice as long after the next. */
const AGAIN_MS = 1_000;
const AGAIN_MOST_MS = 15_000;
/** Most entries of one writing: after a long failure many wait. */
const MOST = 600;
const RENUMBERINGS = 5;

interface Waiting {
  readonly resolve: (seq: number) => void;
  readonly reject: (error: KeepError) => void;
}

/** One writer's queue. */
export class Pen {
  private stored: number;
  /** Not on the disk, oldest first. */
  private readonly queue: Draft[] = [];
  private readonly promised = new Map<Draft, Waiting>();
  private writing: Promise<void> | null = null;
  private cancel: (() => void) | null = null;
  private wroteAt = Number.NEGATIVE_INFINITY;
  private failures = 0;
  private renumbered = 0;

  constructor(
    private readonly paper: Paper,
    private readonly dev: string,
    last: number,
    private readonly tell: (write: Write) => void,
    private readonly timing: Timing = REAL_TIME,
  ) {
    this.stored = last;
  }

  /** Resolves to the entry's number once it is durable; rejects when a writing failed meanwhile. */
  add(draft: Draft): Promise<number> {
    const clean = known(draft);
    const kept = new Promise<number>((resolve, reject) => this.promised.set(clean, { resolve, reject }));
    this.queue.push(clean);
    // while the disk refuses, whatever is no fix still tries it at once: somebody waits for the answer
    if (this.failures === 0 || clean.kind !== "fix") this.write(this.patience());
    return kept;
  }

  /** The last number given, and the last on the disk. */
  count(): { last: number; stored: number } {
    return { last: this.stored + this.queue.length, stored: this.stored };
  }

  /** What is not on the disk yet, oldest first. */
  unstored(): Entry[] {
    return this.queue.map((draft, at) => entryOf(draft, this.dev, this.stored + 1 + at));
  }

  /** Writes what waits, now; resolves when that is done or failed. */
  async flush(): Promise<void> {
    this.write(0);
    while (this.writing !== null) await this.writing;
  }

  /**
   * How long what waits may wait for its neighbours: fixes till a second is full, and till whoever gives them is
   * done with the page; the rest not at all.
   */
  private patience(): number {
    const urgent = this.queue.length >= MOST || this.queue.some((draft) => draft.kind !== "fix");
    return urgent ? 0 : Math.max(1, this.wroteAt + TOGETHER_MS - this.timing.now());
  }

  private write(after_ms: number): void {
    if (after_ms > 0 && this.cancel !== null) return; // a later one never has to be written sooner
    this.cancel?.();
    this.cancel = null;
    if (this.writing !== null) return; // the next writing takes all that has come meanwhile
    if (after_ms > 0) this.cancel = this.timing.after(after_ms, () => this.write(0));
    else if (this.queue.length > 0) this.writing = this.writeOnce().then(() => this.goOn());
  }

  private goOn(): void {
    this.writing = null;
    if (this.queue.length === 0) return;
    if (this.failures === 0) this.write(this.patience());
    else this.write(Math.min(AGAIN_MOST_MS, AGAIN_MS * 2 ** (this.failures - 1)));
  }

  private async writeOnce(): Promise<void> {
    const drafts = this.queue.slice(0, MOST);
    const entries = drafts.map((draft, at) => entryOf(draft, this.dev, this.stored + 1 + at));
    this.wroteAt = this.timing.now();
    try {
      await this.paper.put(entries);
    } catch (error) {
      const why = troubleOf(error);
      if (why.code === "read-only" && (await this.renumber())) return;
      this.failed(why);
      return;
    }
    this.failures = 0;
    this.renumbered = 0;
    this.queue.splice(0, drafts.length);
    this.stored += drafts.length;
    this.tell({ state: "stored", entries });
    drafts.forEach((draft, at) => {
      this.promised.get(draft)?.resolve(entries[at]?.seq ?? 0);
      this.promised.delete(draft);
    });
  }

  /** Everybody who waits learns of it: nothing later can be on the disk before this is. */
  private failed(why: Trouble): void {
    this.failures += 1;
    this.tell({ state: "failed", entries: this.unstored(), why });
    const error = new KeepError(why);
    this.promised.forEach((waiting) => waiting.reject(error));
    this.promised.clear();
  }

  /**
   * Where the browser has no locks, another tab may have used our numbers: what waits gets the next
   * ones. Nobody has been told the old ones, because they were never stored.
   */
  private async renumber(): Promise<boolean> {
    this.renumbered += 1;
    if (this.renumbered > RENUMBERINGS) return false;
    try {
      const last = await this.paper.last();
      if (last <= this.stored) return false;
      this.stored = last;
      return true;
    } catch {
      return false; // the failure that led here is told
    }
  }
}

/** Fields in one order: what every entry has, then what its kind says. */
function entryOf(draft: Draft, dev: string, seq: number): Entry {
  const { kind, t_ms, clock_ms, ...says } = draft as Draft & Record<string, unknown>;
  const clock = clock_ms === undefined ? {} : { clock_ms };
  return { v: VERSION, dev, seq, t_ms, ...clock, kind, ...says } as unknown as Entry;
}

/** A draft without what is not known: no undefined, null or not-a-number, and whole milliseconds. */
function known(draft: Draft): Draft {
  const out: Record<string, unknown> = {};
  const given = draft as unknown as Record<string, unknown>;
  for (const key of Object.keys(given)) {
    const value = given[key];
    if (value === undefined || value === null) continue;
    if (typeof value !== "number") out[key] = value;
    else if (Number.isFinite(value)) out[key] = key.endsWith("_ms") ? Math.round(value) : value;
  }
  return out as unknown as Draft;
}
