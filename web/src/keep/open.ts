// Opens the log of this phone.
import type { Fixes, Log, Mark } from "../core/words";
import type { Line } from "../formats/log";
import { bring } from "./bring";
import { newDevice } from "./device";
import type { Draft, Entry } from "./entry";
import type { Count, Headroom, Keeper, Write } from "./keep";
import { Pen, REAL_TIME, type Timing } from "./pen";
import { entriesBetween, lastOf, linesOf, logSince } from "./read";
import { takeRole, type Role } from "./role";
import { CHUNK, KEPT_MS, drop, headroom, pack, persist } from "./room";
import { Shelf } from "./shelf";
import { KeepError, troubleOf } from "./trouble";

const NAME = "unsown";
/** Chunks of the home's own that make room when there is none: an hour at one fix a second. */
const MADE_ROOM = 6;
const HOUR_MS = 3_600_000;

export interface Opening {
  readonly name?: string;
  readonly locks?: LockManager | undefined;
  readonly timing?: Timing;
  /** The phone's own clock, UTC ms. */
  readonly clock?: () => number;
  readonly shelf?: Shelf;
}

/** [number, when]: the home acknowledged up to this number, at this moment of the phone's clock. */
type Acknowledged = readonly (readonly [number, number])[];

/**
 * The log of this phone, whatever the storage says: where it does not open, what is written is told
 * as failed and lives in memory and in the exported file.
 */
export async function openKeeper(opening: Opening = {}): Promise<Keeper> {
  const keeper = new Kept(opening);
  await keeper.begin(opening);
  return keeper;
}

class Kept implements Keeper {
  dev = "";
  private readonly shelf: Shelf;
  private readonly clock: () => number;
  private readonly timing: Timing;
  private readonly heard = new Set<(write: Write) => void>();
  private readonly roles = new Set<(writes: boolean) => void>();
  private role: Role = { writes: () => false, release: () => undefined };
  private pen: Pen | null = null;
  private looking = false;
  private dropped = 0;
  /** The last number, as a tab that only looks found it. */
  private seen = 0;
  private acknowledged: Acknowledged = [];
  private loose = 0;
  private packing = false;

  constructor({ name = NAME, shelf, clock = Date.now, timing = REAL_TIME }: Opening) {
    this.shelf = shelf ?? new Shelf(name);
    this.clock = clock;
    this.timing = timing;
  }

  async begin(opening: Opening): Promise<void> {
    const locks = "locks" in opening ? ([opening.locks] as const) : [];
    try {
      this.dev = await this.knownDevice();
      this.shelf.onReopen(async () => this.sameStorage());
      await this.lookBack();
      this.seen = await lastOf(this.shelf, this.dev, this.dropped);
    } catch {
      this.dev = this.dev || newDevice(); // a phone that cannot store can still write a file
    }
    this.role = await takeRole((writes) => void this.turn(writes), ...locks);
    if (this.role.writes()) await this.turn(true);
  }

  get writes(): boolean {
    return this.pen !== null && !this.looking;
  }

  look(only: boolean): void {
    if (only === this.looking) return;
    this.looking = only;
    this.roles.forEach((callback) => callback(this.writes));
  }

  append(draft: Draft): Promise<number> {
    if (this.looking) return Promise.reject(new KeepError({ code: "read-only", message: "this phone only looks" }));
    if (this.pen === null) return Promise.reject(new KeepError({ code: "read-only", message: "another tab of this phone keeps the log" }));
    return this.pen.add(draft);
  }

  onWrite(callback: (write: Write) => void): () => void {
    this.heard.add(callback);
    return () => void this.heard.delete(callback);
  }

  onRole(callback: (writes: boolean) => void): () => void {
    this.roles.add(callback);
    return () => void this.roles.delete(callback);
  }

  async fixes(since_ms?: number): Promise<Fixes> {
    return (await this.log(since_ms)).fixes;
  }

  async marks(since_ms?: number): Promise<readonly Mark[]> {
    return (await this.log(since_ms)).marks;
  }

  log(since_ms = Number.NEGATIVE_INFINITY): Promise<Log> {
    return logSince(this.shelf, since_ms, this.unstored());
  }

  entries(first: number, last: number, most: number): Promise<readonly Entry[]> {
    return entriesBetween(this.shelf, this.dev, first, last, most);
  }

  unstored(): readonly Entry[] {
    return this.pen?.unstored() ?? [];
  }

  count(): Count {
    const held = this.acknowledged[this.acknowledged.length - 1]?.[0] ?? 0;
    return { ...(this.pen?.count() ?? { last: this.seen, stored: this.seen }), held };
  }

  async hold(held: number): Promise<void> {
    const now = this.clock();
    const before = this.acknowledged;
    const last = before[before.length - 1];
    if (last !== undefined && last[0] === held) return;
    // what the home says counts, also when it is less: a house restored from an older backup
    const lower = before.filter(([upto]) => upto < held);
    // one line an hour tells well enough since when something is at home
    const joins = lower.length > 1 && now - (lower[lower.length - 2]?.[1] ?? 0) < HOUR_MS;
    const all: Acknowledged = [...(joins ? lower.slice(0, -1) : lower), [held, now]];
    const old = all.reduce((found, [upto, when]) => (when <= now - KEPT_MS ? upto : found), 0);
    this.acknowledged = all.filter(([upto]) => upto >= old);
    await this.shelf.setFact("acknowledged", this.acknowledged);
    if (old > 0) this.dropped = Math.max(this.dropped, await drop(this.shelf, this.dev, old));
  }

  bring(lines: readonly Line[]): Promise<{ kept: number; again: number }> {
    return bring(this.shelf, this.dev, lines);
  }

  recall<T>(key: string): Promise<T | undefined> {
    return this.shelf.fact<T>(`page ${key}`);
  }

  remember(key: string, value: unknown): Promise<void> {
    return this.shelf.setFact(`page ${key}`, value);
  }

  renew(): Promise<void> {
    return this.shelf.write(["facts"], async (tx) => {
      const facts = tx.objectStore("facts");
      await facts.put(newDevice(), "dev");
      await Promise.all(["dropped", "acknowledged", "page home"].map((key) => facts.delete(key)));
    });
  }

  headroom(): Promise<Headroom> {
    return headroom();
  }

  persist(): Promise<boolean | null> {
    return persist();
  }

  async export(): Promise<Blob> {
    let parts: string[];
    try {
      parts = await linesOf(this.shelf, this.unstored());
    } catch {
      parts = this.unstored().map((entry) => `${JSON.stringify(entry)}\n`); // what memory has, at least
    }
    return new Blob(parts, { type: "application/x-ndjson" });
  }

  async flush(): Promise<void> {
    await this.pen?.flush();
  }

  async close(): Promise<void> {
    await this.flush();
    this.role.release();
    await this.shelf.close();
  }

  private async turn(writes: boolean): Promise<void> {
    if (writes) {
      let last = this.dropped;
      try {
        await this.lookBack();
        last = await lastOf(this.shelf, this.dev, this.dropped);
      } catch {
        // the storage does not open: numbers begin at 1, and the first writing says why it failed
      }
      const paper = {
        put: (entries: readonly Entry[]) => this.put(entries),
        last: () => lastOf(this.shelf, this.dev, this.dropped),
      };
      this.pen = new Pen(paper, this.dev, last, (write) => this.told(write), this.timing);
    } else this.pen = null;
    this.roles.forEach((callback) => callback(this.writes));
  }

  private async put(entries: readonly Entry[]): Promise<void> {
    const add = (): Promise<void> =>
      this.shelf.write(["tail"], async (tx) => {
        // nothing is awaited here: a page that is being closed gets no further than this
        for (const entry of entries) tx.objectStore("tail").add(entry).catch(() => undefined); // the whole fails
        if (typeof tx.commit === "function") tx.commit();
      });
    try {
      await add();
    } catch (error) {
      if (troubleOf(error).code !== "full") throw error;
      const made = await drop(this.shelf, this.dev, this.count().held, MADE_ROOM);
      if (made === 0) throw error;
      this.dropped = made;
      await add();
    }
  }

  private told(write: Write): void {
    this.heard.forEach((callback) => callback(write));
    if (write.state !== "stored") return;
    this.loose += write.entries.length;
    if (this.loose >= CHUNK && !this.packing) void this.packAll();
  }

  /** Packs what lies loose; when that fails it stays loose, where it is as safe. */
  private async packAll(): Promise<void> {
    this.packing = true;
    try {
      while (await pack(this.shelf, this.dev)) this.loose = Math.max(0, this.loose - CHUNK);
    } catch {
      // tried again with the next entries
    } finally {
      this.packing = false;
    }
  }

  private async knownDevice(): Promise<string> {
    const made = newDevice();
    return this.shelf.write(["facts"], async (tx) => {
      const facts = tx.objectStore("facts");
      const known = (await facts.get("dev")) as string | undefined;
      if (known === undefined) await facts.put(made, "dev");
      return known ?? made;
    });
  }

  /** What other tabs may have changed since. */
  private async lookBack(): Promise<void> {
    this.dropped = (await this.shelf.fact<number>("dropped")) ?? 0;
    this.acknowledged = (await this.shelf.fact<Acknowledged>("acknowledged")) ?? [];
    this.loose = CHUNK; // what an earlier page left loose is packed with the first entry
  }

  /** Numbers go on only where the log lies that they go on from. */
  private async sameStorage(): Promise<void> {
    const dev = await this.shelf.fact<string>("dev");
    if (dev !== this.dev) throw new KeepError({ code: "closed", message: "the phone's storage was cleared while this page was open" });
  }
}
