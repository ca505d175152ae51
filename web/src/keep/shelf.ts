// Where the log lies on the phone: one IndexedDB, three stores. `tail` holds each entry by itself until
// some hundred are packed into a chunk; `facts` holds what is no log: pairing, pack, settings.
import { openDB, type DBSchema, type IDBPDatabase, type IDBPTransaction, type StoreNames } from "idb";
import type { Chunk } from "./chunk";
import type { Entry } from "./entry";
import { KeepError, troubleOf } from "./trouble";

export interface Shelves extends DBSchema {
  tail: { key: [string, number]; value: Entry };
  chunks: { key: [string, number]; value: Chunk; indexes: { to_ms: number } };
  facts: { key: string; value: unknown };
}
type Name = StoreNames<Shelves>;
type Database = IDBPDatabase<Shelves>;

const VERSION = 1;
/** A browser that holds the storage back must not hold the page back. */
const PATIENCE_MS = 8_000;

/** A database that is opened when it is needed, and again when the browser has taken it away. */
export class Shelf {
  private opening: Promise<Database> | null = null;
  private checked: (() => Promise<void>) | null = null;

  constructor(
    readonly name: string,
    private readonly patience_ms = PATIENCE_MS,
  ) {}

  /** Asked each time the storage was opened anew, before anything is written to it; may refuse. */
  onReopen(check: () => Promise<void>): void {
    this.checked = check;
  }

  /** Reads. Rejects with a KeepError. */
  async read<N extends Name, T>(stores: N[], work: (tx: IDBPTransaction<Shelves, N[], "readonly">) => Promise<T>): Promise<T> {
    try {
      const tx = (await this.database()).transaction(stores, "readonly");
      const [value] = await Promise.all([work(tx), tx.done]);
      return value;
    } catch (error) {
      throw new KeepError(troubleOf(error));
    }
  }

  /**
   * Writes, all or nothing; resolves once it is on the disk, not merely handed to the system: a page
   * or phone that dies right after loses nothing of it. Rejects with a KeepError; nothing was changed.
   */
  async write<N extends Name, T>(stores: N[], work: (tx: IDBPTransaction<Shelves, N[], "readwrite">) => Promise<T>): Promise<T> {
    let tx: IDBPTransaction<Shelves, N[], "readwrite"> | null = null;
    try {
      tx = (await this.database()).transaction(stores, "readwrite", { durability: "strict" });
      const done = tx.done;
      done.catch(() => undefined); // waited for below; here only so that it is never unheard
      const value = await work(tx);
      await done;
      return value;
    } catch (error) {
      try {
        tx?.abort();
      } catch {
        // it had ended already
      }
      throw new KeepError(troubleOf(tx?.error ?? error));
    }
  }

  async fact<T>(key: string): Promise<T | undefined> {
    return this.read(["facts"], async (tx) => (await tx.objectStore("facts").get(key)) as T | undefined);
  }

  /** Keeps a fact; undefined takes it away. */
  async setFact(key: string, value: unknown): Promise<void> {
    await this.write(["facts"], async (tx) => {
      const facts = tx.objectStore("facts");
      if (value === undefined) await facts.delete(key);
      else await facts.put(value, key);
    });
  }

  async close(): Promise<void> {
    const was = this.opening;
    this.opening = null;
    if (was !== null) (await was).close();
  }

  private async database(): Promise<Database> {
    if (this.opening === null) {
      const opening = this.open();
      this.opening = opening;
      opening.catch(() => {
        if (this.opening === opening) this.opening = null;
      });
    }
    return this.opening;
  }

  private async open(): Promise<Database> {
    let late = false;
    const opened = openDB<Shelves>(this.name, VERSION, {
      upgrade(made) {
        made.createObjectStore("tail", { keyPath: ["dev", "seq"] });
        made.createObjectStore("chunks", { keyPath: ["dev", "first"] }).createIndex("to_ms", "to_ms");
        made.createObjectStore("facts");
      },
      terminated: () => {
        this.opening = null;
      },
      blocking: (_now, _wanted, event) => {
        this.opening = null; // a newer page wants to change the storage: let it
        (event.target as IDBDatabase).close();
      },
    });
    opened.then((made) => late && made.close(), () => undefined);
    const made = await Promise.race([opened, later(this.patience_ms)]);
    if (made === null) {
      late = true;
      throw new KeepError({ code: "closed", message: "the storage does not open" });
    }
    const check = this.checked;
    if (check !== null) {
      this.opening = Promise.resolve(made); // so that the check itself can read
      try {
        await check();
      } catch (error) {
        this.opening = null;
        made.close();
        throw error;
      }
    }
    return made;
  }
}

const later = (ms: number): Promise<null> => new Promise((done) => setTimeout(() => done(null), ms));
