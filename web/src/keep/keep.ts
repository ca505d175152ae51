// What every page asks of the keeper of the log. `open` is in open.ts.
import type { Fixes, Log, Mark } from "../core/words";
import type { Line } from "../formats/log";
import type { Draft, Entry } from "./entry";

/** What became of writing, told to whoever listens: `stored` numbers are on the disk. */
export type Write =
  | { readonly state: "stored"; readonly entries: readonly Entry[] }
  | { readonly state: "failed"; readonly entries: readonly Entry[]; readonly why: Trouble };

/** Why something could not be kept: `full` no room, `closed` the browser took the storage away,
 * `read-only` another tab writes or this phone only looks, `broken` anything else, in the browser's words. */
export interface Trouble {
  readonly code: "full" | "closed" | "read-only" | "broken";
  readonly message: string;
}

/** What there is room for. Anything the browser does not tell is null. */
export interface Headroom {
  readonly used_bytes: number | null;
  readonly quota_bytes: number | null;
  /** Hours of logging at one fix a second that still fit. */
  readonly hours: number | null;
  /** Whether the browser has promised not to clear it; null: it cannot be asked. */
  readonly persisted: boolean | null;
}

/** How much of the log is where. `last` is the newest number given, `stored` the newest on the
 * disk, `held` the newest the home has acknowledged. */
export interface Count {
  readonly last: number;
  readonly stored: number;
  readonly held: number;
}

/** The log of this phone: entries in, nothing ever changed. */
export interface Keeper {
  /** This phone's label in the log: made once; a reinstall has another. */
  readonly dev: string;
  /** False: another tab of this phone writes, or this phone only looks, and `append` refuses. */
  readonly writes: boolean;

  /**
   * Numbers the entry and stores it; resolves to its number once it is durably on the disk.
   * Rejects with a KeepError when it could not be stored: the entry then stays in memory, is tried
   * again with the next, and is in what `all` and the exported file give.
   */
  append(draft: Draft): Promise<number>;
  /** Calls back after every attempt to write; returns what ends it. */
  onWrite(callback: (write: Write) => void): () => void;
  /** Whether this phone only looks: nothing whatever is added to its log then. */
  look(only: boolean): void;
  /** Calls back when this tab begins to write or ceases to; returns what ends it. */
  onRole(callback: (writes: boolean) => void): () => void;

  /** Fixes with `t_ms` at or after a moment, in the order they were written. */
  fixes(since_ms?: number): Promise<Fixes>;
  /** Every other entry at or after a moment; undone ones as kind `hidden`, as in Python. */
  marks(since_ms?: number): Promise<readonly Mark[]>;
  /** Both, as the engine wants them. */
  log(since_ms?: number): Promise<Log>;
  /** Entries with numbers from first to last, at most `most`; stored ones only. */
  entries(first: number, last: number, most: number): Promise<readonly Entry[]>;
  /** Entries on the phone that are not on the disk, oldest first. */
  unstored(): readonly Entry[];

  count(): Count;
  /** The home acknowledged everything up to this number (it may be less than before: a restored house). */
  hold(held: number): Promise<void>;
  /** Keeps entries of other phones, from a file; how many were new, how many were here already. */
  bring(lines: readonly Line[]): Promise<{ kept: number; again: number }>;
  /** What a page wants to find again on this phone; it is no part of the log. */
  recall<T>(key: string): Promise<T | undefined>;
  remember(key: string, value: unknown): Promise<void>;
  /**
   * Makes this phone a new device, from the next opening on: numbers begin at 1 under a new label, and
   * home has to be paired anew. What was logged stays, is exported, and comes home as a file.
   */
  renew(): Promise<void>;

  headroom(): Promise<Headroom>;
  /** Asks the browser not to clear the storage; null where it cannot be asked. */
  persist(): Promise<boolean | null>;
  /** The whole log as JSON lines, with what is not yet on the disk. */
  export(): Promise<Blob>;
  /** Writes at once what still waits for its neighbours; resolves when that is done or has failed. */
  flush(): Promise<void>;
  close(): Promise<void>;
}
