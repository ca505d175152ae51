// The log as it lies on the shelf, read back: for the engine, for sending, for a file.
import { Gathering } from "../formats/log";
import type { Log } from "../core/words";
import { columnOf, unseal, type Chunk } from "./chunk";
import { line, type Entry } from "./entry";
import type { Shelf } from "./shelf";

/** Above every number and every label that can be a key's second part. */
const TOP = Number.MAX_SAFE_INTEGER;

/** The last number of a writer on the shelf; 0 where there is none. `floor` is what was dropped. */
export async function lastOf(shelf: Shelf, dev: string, floor: number): Promise<number> {
  return shelf.read(["tail", "chunks"], async (tx) => {
    const mine = IDBKeyRange.bound([dev, 0], [dev, TOP]);
    const [row, chunk] = await Promise.all([
      tx.objectStore("tail").openKeyCursor(mine, "prev"),
      tx.objectStore("chunks").openCursor(mine, "prev"),
    ]);
    return Math.max(floor, row?.key[1] ?? 0, chunk?.value.last ?? 0);
  });
}

/** So many chunks are read at once: a page hears a touch between, and a season need not be one answer. */
const AT_ONCE = 16;

/** Everything that is about a moment at or after `since_ms`, of all writers; `unstored` comes last. */
export async function logSince(shelf: Shelf, since_ms: number, unstored: readonly Entry[]): Promise<Log> {
  const { chunks, tail } = await shelf.read(["chunks", "tail"], async (tx) => {
    const rows = await tx.objectStore("tail").getAll();
    const found: Chunk[] = [];
    for (let [from, most, more] = [since_ms, AT_ONCE, true]; more; ) {
      const part = await tx.objectStore("chunks").index("to_ms").getAll(IDBKeyRange.lowerBound(from), most);
      const last = part[part.length - 1]?.to_ms ?? from;
      more = part.length === most;
      // those that end with the last one may not be all: they are read with what follows
      found.push(...(more ? part.filter(({ to_ms }) => to_ms < last) : part));
      if (last === part[0]?.to_ms) most *= 2;
      from = last;
    }
    return { chunks: found, tail: rows };
  });
  const out = new Gathering();
  chunks.sort((a, b) => (a.dev === b.dev ? a.first - b.first : a.from_ms - b.from_ms));
  for (const chunk of chunks) {
    addFixes(out, chunk, since_ms);
    for (const entry of chunk.others) if (entry.t_ms >= since_ms) out.add(entry);
  }
  for (const entry of [...tail, ...stillLoose(unstored, chunks, tail)]) if (entry.t_ms >= since_ms) out.add(entry);
  return out.log();
}

/** A chunk's fixes from a moment on; whole columns where nothing is older. */
function addFixes(out: Gathering, chunk: Chunk, since_ms: number): void {
  const t_ms = columnOf(chunk, "t_ms");
  if (t_ms.length === 0) return;
  const kept = (column: Float64Array): Float64Array =>
    chunk.from_ms >= since_ms ? column : column.filter((_, i) => (t_ms[i] ?? 0) >= since_ms);
  out.addColumns(chunk.dev, {
    seq: kept(columnOf(chunk, "seq")),
    t_ms: kept(t_ms),
    lat_deg: kept(columnOf(chunk, "lat_deg")),
    lon_deg: kept(columnOf(chunk, "lon_deg")),
    acc_m: kept(columnOf(chunk, "acc_m")),
    speed_m_s: kept(columnOf(chunk, "speed_m_s")),
    course_deg: kept(columnOf(chunk, "course_deg")),
    segment: new Int32Array(kept(columnOf(chunk, "segment"))), // not given becomes nought
  });
}

/** At most `most` of a writer's entries with numbers from first to last, in order; stored ones only. */
export async function entriesBetween(
  shelf: Shelf, dev: string, first: number, last: number, most: number,
): Promise<Entry[]> {
  return shelf.read(["chunks", "tail"], async (tx) => {
    const out: Entry[] = [];
    const mine = tx.objectStore("chunks");
    const before = await mine.openCursor(IDBKeyRange.bound([dev, 0], [dev, first]), "prev");
    let cursor = await mine.openCursor(IDBKeyRange.bound([dev, before?.key[1] ?? first], [dev, last]));
    while (cursor !== null && out.length < most) {
      for (const entry of unseal(cursor.value)) if (entry.seq >= first && entry.seq <= last) out.push(entry);
      cursor = await cursor.continue();
    }
    if (out.length < most) {
      const rest = IDBKeyRange.bound([dev, first], [dev, last]);
      out.push(...(await tx.objectStore("tail").getAll(rest, most - out.length)));
    }
    return out.slice(0, most);
  });
}

/** Every entry of every writer as JSON lines, in parts, so that a season need not be one text. */
export async function linesOf(shelf: Shelf, unstored: readonly Entry[]): Promise<string[]> {
  const parts: string[] = [];
  await shelf.read(["chunks", "tail"], async (tx) => {
    const chunks: Span[] = [];
    let cursor = await tx.objectStore("chunks").openCursor();
    while (cursor !== null) {
      const { dev, first, last } = cursor.value;
      chunks.push({ dev, first, last });
      parts.push(unseal(cursor.value).map(line).join(""));
      cursor = await cursor.continue();
    }
    const tail = await tx.objectStore("tail").getAll();
    parts.push(tail.map(line).join(""), stillLoose(unstored, chunks, tail).map(line).join(""));
  });
  return parts;
}

type Span = Pick<Chunk, "dev" | "first" | "last">;

/** Those of `unstored` that have not come onto the shelf since they were told: none is read twice. */
function stillLoose(unstored: readonly Entry[], chunks: readonly Span[], tail: readonly Entry[]): Entry[] {
  return unstored.filter(
    ({ dev, seq }) =>
      !tail.some((entry) => entry.dev === dev && entry.seq === seq) &&
      !chunks.some((chunk) => chunk.dev === dev && chunk.first <= seq && seq <= chunk.last),
  );
}
