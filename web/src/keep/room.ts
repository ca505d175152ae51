// Room on the phone: packing the tail into chunks, dropping what the home has had for long, and what is
// left for more.
import { seal, unseal } from "./chunk";
import type { Headroom } from "./keep";
import { KeepError } from "./trouble";
import type { Shelf } from "./shelf";

/** Entries of one chunk: ten minutes at one fix a second. */
export const CHUNK = 600;
/** What the home has acknowledged stays on the phone for so long: it may have to be given again. */
export const KEPT_MS = 30 * 86_400_000;
/** What an hour of one fix a second takes: 260 kB measured, and half as much again to be safe. */
const HOUR_BYTES = 400_000;
const TOP = Number.MAX_SAFE_INTEGER;

/**
 * Packs the oldest CHUNK entries of the tail into a chunk, in one transaction, and holds what it
 * packed against what it had; false where fewer are there.
 */
export async function pack(shelf: Shelf, dev: string): Promise<boolean> {
  return shelf.write(["tail", "chunks"], async (tx) => {
    const tail = tx.objectStore("tail");
    const rows = await tail.getAll(IDBKeyRange.bound([dev, 0], [dev, TOP]), CHUNK);
    if (rows.length < CHUNK) return false;
    const chunk = seal(rows);
    const back = unseal(chunk);
    rows.forEach((row, at) => {
      if (JSON.stringify(row) !== JSON.stringify(back[at])) {
        throw new KeepError({ code: "broken", message: `entry ${row.seq} would not be the same in a chunk` });
      }
    });
    await Promise.all([
      tx.objectStore("chunks").add(chunk),
      tail.delete(IDBKeyRange.bound([dev, chunk.first], [dev, chunk.last])),
    ]);
    return true;
  });
}

/** Drops a writer's chunks up to a number, the oldest first, at most `most`; the last number dropped. */
export async function drop(shelf: Shelf, dev: string, upto: number, most = Infinity): Promise<number> {
  return shelf.write(["chunks", "facts"], async (tx) => {
    const chunks = tx.objectStore("chunks");
    let cursor = await chunks.openCursor(IDBKeyRange.bound([dev, 0], [dev, upto]));
    let dropped = 0;
    for (let n = 0; cursor !== null && cursor.value.last <= upto && n < most; n++) {
      dropped = cursor.value.last;
      await cursor.delete();
      cursor = await cursor.continue();
    }
    if (dropped > 0) await tx.objectStore("facts").put(dropped, "dropped");
    return dropped;
  });
}

/** What there is room for, as far as the browser tells. */
export async function headroom(storage: StorageManager | undefined = manager()): Promise<Headroom> {
  let used: number | null = null;
  let quota: number | null = null;
  let persisted: boolean | null = null;
  try {
    if (storage?.estimate !== undefined) {
      const found = await storage.estimate();
      used = found.usage ?? null;
      quota = found.quota ?? null;
    }
    if (storage?.persisted !== undefined) persisted = await storage.persisted();
  } catch {
    // a browser that will not tell: null says so
  }
  const hours = used === null || quota === null ? null : Math.max(0, quota - used) / HOUR_BYTES;
  return { used_bytes: used, quota_bytes: quota, hours, persisted };
}

/** Asks the browser not to clear the storage when it needs room; null where it cannot be asked. */
export async function persist(storage: StorageManager | undefined = manager()): Promise<boolean | null> {
  if (storage?.persist === undefined) return null;
  try {
    return await storage.persist();
  } catch {
    return null;
  }
}

function manager(): StorageManager | undefined {
  return typeof navigator === "undefined" ? undefined : navigator.storage;
}
