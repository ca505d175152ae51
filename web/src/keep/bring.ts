// Logs of other phones, brought as a file: kept beside our own, so that the ground and the gate check
// know what they sowed.
import type { Line } from "../formats/log";
import { seal, type Chunk } from "./chunk";
import type { Entry } from "./entry";
import { CHUNK } from "./room";
import type { Shelf } from "./shelf";

const TOP = Number.MAX_SAFE_INTEGER;

/**
 * Keeps lines of other writers that are not here yet; how many that are, and how many were here. Lines
 * under our own label are ours already.
 */
export async function bring(shelf: Shelf, own: string, lines: readonly Line[]): Promise<{ kept: number; again: number }> {
  const writers = new Map<string, Map<number, Entry>>();
  let again = 0;
  for (const line of lines) {
    const mine = writers.get(line.dev) ?? new Map<number, Entry>();
    if (line.dev === own || mine.has(line.seq)) again += 1;
    else writers.set(line.dev, mine.set(line.seq, line as unknown as Entry));
  }
  const kept = await shelf.write(["chunks"], async (tx) => {
    const chunks = tx.objectStore("chunks");
    let count = 0;
    for (const [dev, entries] of Array.from(writers)) {
      const known = await chunks.getAll(IDBKeyRange.bound([dev, 0], [dev, TOP]));
      const fresh = Array.from(entries.values()).filter((entry) => !isIn(known, entry.seq));
      for (const run of runsOf(fresh)) await chunks.add(seal(run));
      count += fresh.length;
      again += entries.size - fresh.length;
    }
    return count;
  });
  return { kept, again };
}

const isIn = (chunks: readonly Chunk[], seq: number): boolean => chunks.some((chunk) => chunk.first <= seq && seq <= chunk.last);

/** Entries in order, cut where numbers are missing and where a chunk is full. */
function runsOf(entries: readonly Entry[]): Entry[][] {
  const out: Entry[][] = [];
  for (const entry of entries.slice().sort((a, b) => a.seq - b.seq)) {
    const run = out[out.length - 1];
    const before = run?.[run.length - 1];
    if (run !== undefined && before !== undefined && before.seq + 1 === entry.seq && run.length < CHUNK) run.push(entry);
    else out.push([entry]);
  }
  return out;
}
