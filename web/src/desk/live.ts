// What the service tells by itself while a page is open: how far a day is computed, what changed.
import { desk } from "./state";

export interface WorkEvent {
  paddock: string;
  season: number;
  stage: string;
  part: number | null;
  state: string;
}
interface Heard {
  work: (event: WorkEvent) => void;
  board: () => void;
  /** The stream was down for a while: what was told meanwhile is to be asked for. */
  missed: () => void;
}
const AGAIN_MS = 20_000;
const watchers = new Set<Partial<Heard>>();
let source: EventSource | null = null;
let wanted = false;
let broken = false;

/** Opens the stream and keeps it open. Without it pages work too, and ask again now and then. */
export function listen(): void {
  wanted = true;
  if (source) return;
  const stream = new EventSource("/api/events");
  source = stream;
  stream.addEventListener("work", (event) => {
    const told = JSON.parse((event as MessageEvent<string>).data) as WorkEvent;
    for (const watcher of watchers) watcher.work?.(told);
  });
  stream.addEventListener("board", () => {
    for (const watcher of watchers) watcher.board?.();
  });
  stream.addEventListener("open", () => {
    desk.set({ reached: true });
    if (broken) missed();
    broken = false;
  });
  stream.addEventListener("error", () => {
    broken = true;
    // the browser opens a stream that broke by itself, but not one that was refused
    if (stream.readyState !== EventSource.CLOSED) return;
    source = null;
    setTimeout(() => {
      if (!wanted) return;
      missed();
      listen();
    }, AGAIN_MS);
  });
}

function missed(): void {
  for (const watcher of watchers) watcher.missed?.();
}

export function hush(): void {
  wanted = false;
  source?.close();
  source = null;
}

/** Calls back on events until the returned function is called. */
export function hear(heard: Partial<Heard>): () => void {
  watchers.add(heard);
  return () => void watchers.delete(heard);
}
