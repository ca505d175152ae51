// Builders for tests of the log: drafts, a storage of their own, locks as browsers have them.
import { IDBCursor, IDBDatabase, IDBFactory, IDBIndex, IDBKeyRange, IDBObjectStore, IDBRequest, IDBTransaction } from "fake-indexeddb";
import type { Draft, DraftOf } from "../../../web/src/keep/entry";
import type { Keeper } from "../../../web/src/keep/keep";
import { openKeeper, type Opening } from "../../../web/src/keep/open";
import type { Timing } from "../../../web/src/keep/pen";

export const T0 = 1_777_636_800_000;

/** A fix a second on a line. */
export function fix(second: number, more: Partial<DraftOf<"fix">> = {}): Draft {
  return { kind: "fix", t_ms: T0 + 1000 * second, lat_deg: 49.73 + 1e-5 * second, lon_deg: -106.21, acc_m: 2.5, ...more };
}

export const lever = (second: number, state: "down" | "up"): Draft => ({ kind: "lever", t_ms: T0 + 1000 * second, lever: state, how: "pad" });

/** An empty storage in the place of the browser's. */
export function freshStorage(): void {
  // the wrapper of idb tells requests, stores and the like apart by their classes
  const parts = { IDBCursor, IDBDatabase, IDBIndex, IDBKeyRange, IDBObjectStore, IDBRequest, IDBTransaction };
  Object.assign(globalThis, parts, { indexedDB: new IDBFactory() });
}

type Asked = { name: string; turn: () => void };

/** Locks as one browser's tabs share them. */
export class FakeLocks {
  private readonly held = new Set<string>();
  private readonly queue: Asked[] = [];

  /** As `navigator.locks`. */
  get manager(): LockManager {
    return { request: this.request.bind(this), query: () => Promise.reject(new Error("not asked")) } as unknown as LockManager;
  }

  private async request(name: string, options: LockOptions, act: (lock: Lock | null) => Promise<unknown>): Promise<unknown> {
    const free = !this.held.has(name);
    if (!free && options.ifAvailable === true) return act(null);
    if (free) return this.grant(name, act);
    await new Promise<void>((ours, never) => {
      const asked: Asked = { name, turn: ours };
      this.queue.push(asked);
      options.signal?.addEventListener("abort", () => {
        this.queue.splice(this.queue.indexOf(asked), 1);
        never(new DOMException("", "AbortError"));
      });
    });
    return this.grant(name, act);
  }

  private async grant(name: string, act: (lock: Lock | null) => Promise<unknown>): Promise<unknown> {
    this.held.add(name);
    try {
      return await act({ name, mode: "exclusive" });
    } finally {
      this.held.delete(name);
      const at = this.queue.findIndex((asked) => asked.name === name);
      if (at >= 0) this.queue.splice(at, 1)[0]?.turn();
    }
  }
}

/** Time that goes on only when it is told to. */
export class FakeTime implements Timing {
  private at = 0;
  private readonly due: { at: number; act: () => void }[] = [];

  now(): number {
    return this.at;
  }

  after(ms: number, act: () => void): () => void {
    const entry = { at: this.at + ms, act };
    this.due.push(entry);
    return () => {
      const found = this.due.indexOf(entry);
      if (found >= 0) this.due.splice(found, 1);
    };
  }

  /** How long until the next timer; null where none runs. */
  next(): number | null {
    return this.due.length === 0 ? null : Math.min(...this.due.map((each) => each.at)) - this.at;
  }

  /** Lets time pass, with everything that falls due, and whatever that sets going. */
  async pass(ms: number): Promise<void> {
    const end = this.at + ms;
    for (;;) {
      const next = this.due.filter((each) => each.at <= end).toSorted((a, b) => a.at - b.at)[0];
      if (next === undefined) break;
      this.at = Math.max(this.at, next.at);
      this.due.splice(this.due.indexOf(next), 1);
      next.act();
      await settled();
    }
    this.at = end;
    await settled();
  }
}

/** Everything that was set going by now has gone as far as it can without timers. */
export async function settled(): Promise<void> {
  for (let n = 0; n < 20; n++) await Promise.resolve();
  await new Promise((done) => setImmediate(done));
}

/** Waits for what goes on by itself, such as packing; fails where it does not come about. */
export async function until(holds: () => boolean): Promise<void> {
  for (let n = 0; n < 400; n++) {
    if (holds()) return;
    await new Promise((done) => setTimeout(done, 5));
  }
  throw new Error(`not within two seconds: ${String(holds)}`);
}

/** A keeper on the storage as it is; a tab of the browser whose locks these are. */
export function tab(locks: FakeLocks | undefined, more: Opening = {}): Promise<Keeper> {
  return openKeeper({ name: "test", locks: locks?.manager, ...more });
}

/** Writes drafts one after another; their numbers. */
export async function written(log: Keeper, drafts: readonly Draft[]): Promise<number[]> {
  const numbers = Promise.all(drafts.map((draft) => log.append(draft)));
  await log.flush();
  return numbers;
}

export const textOf = async (log: Keeper): Promise<string> => (await log.export()).text();
