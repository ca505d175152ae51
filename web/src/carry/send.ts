// Sends the log home: whatever comes after the last number that home holds without a gap. What home
// wants again, after it was restored from an older backup, comes after that number too.
import { line } from "../keep/entry";
import type { Keeper } from "../keep/keep";
import { CallError, call } from "./call";
import { packed } from "./gzip";
import type { Home } from "./pair";

/** Most entries of one sending, well under what home takes: some forty minutes at one fix a second. */
const MOST = 2_500;
const PATIENCE_MS = 90_000;

interface Held {
  readonly held: number;
  /** Another phone that keeps the same log. */
  readonly also?: string | null;
}

/** The part of the log that sending needs. */
export type Outbox = Pick<Keeper, "dev" | "count" | "hold" | "entries">;

/**
 * Sends everything that is on the disk and not at home; `tell` hears how many are left before each
 * sending. Safe to break off and to repeat. Gives another phone that keeps the same log, null: none is known.
 *
 * Throws CallError; code `entries-gone`: home wants entries that this phone dropped long ago, and takes
 * nothing later before it has them.
 */
export async function sendAll(log: Outbox, home: Home, tell: (left: number) => void, fetcher?: typeof fetch): Promise<string | null> {
  const path = `/api/phones/${encodeURIComponent(log.dev)}`;
  const first = await call<Held>({ method: "GET", path: `${path}/held`, token: home.token }, fetcher);
  let { held } = first;
  for (;;) {
    await log.hold(held);
    const { stored } = log.count();
    if (held >= stored) return first.also ?? null;
    tell(stored - held);
    const next = held + 1;
    const entries = await log.entries(next, stored, MOST);
    if (entries[0]?.seq !== next) {
      throw new CallError(409, "entries-gone", `home wants entries from ${next} on; this phone has them from ${entries[0]?.seq ?? "nowhere"} on`);
    }
    const { body, headers } = await packed(entries.map(line).join(""));
    const ask = { method: "PUT", path: `${path}/entries/${next}`, token: home.token, body, headers, patience_ms: PATIENCE_MS } as const;
    held = (await call<Held>(ask, fetcher)).held;
    if (held < next) throw new CallError(409, "held-back", `home took entries from ${next} on and says it holds ${held}`);
  }
}
