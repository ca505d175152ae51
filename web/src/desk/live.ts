// What the service tells by itself while a page is open: how far a day is computed, what changed.
import { desk } from "./state";

export interface WorkEvent {
  paddock: string;
  season: number;
  stage: string;
  part: number | null;
  state: string;
}
type Heard = { work: (event: WorkEvent) => void; board: () => void };
const watchers = new Set<Partial<Heard>>();
let source: EventSource | null = null;

/** Opens the stream; the browser opens it again by itself when it breaks. */
export function listen(): void {
  if (source) return;
  source = new EventSource("/api/events");
  source.addEventListener("work", (event) => {
    const told = JSON.parse((event as MessageEvent<string>).data) as WorkEvent;
    for (const watcher of watchers) watcher.work?.(told);
  });
  source.addEventListener("board", () => {
    for (const watcher of watchers) watcher.board?.();
  });
  let broken = false;
  source.addEventListener("error", () => {
    broken = true;
    if (source?.readyState === EventSource.CLOSED) {
      source = null;
      setTimeout(listen, 5_000);
    }
  });
  source.addEventListener("open", () => {
    desk.set({ reached: true });
    // whatever was told while the stream was down has been missed
    if (broken) for (const watcher of watchers) watcher.board?.();
    broken = false;
  });
}

export function hush(): void {
  source?.close();
  source = null;
}

/** Calls back on events until the returned function is called. */
export function hear(heard: Partial<Heard>): () => void {
  watchers.add(heard);
  return () => void watchers.delete(heard);
}
