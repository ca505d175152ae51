// Whether the page is whole on this phone, told by its service worker, and changing to a newer one.
import type { Ready } from "./state";

/** What the service worker answers (sw.ts). */
interface Said {
  readonly version: string;
  readonly served: string;
  readonly files: number;
  readonly missing: readonly string[];
}

const ANSWER_MS = 20_000;
/** Home is asked for a newer version so often at most. */
const UPDATE_MS = 30 * 60_000;

export interface Told {
  ready(ready: Ready): void;
  newer(there: boolean): void;
}

/** The page's offline copy; `told` hears how it stands, after every look. */
export class Offline {
  private registration: ServiceWorkerRegistration | null = null;
  private looked = 0;

  constructor(
    private readonly told: Told,
    private readonly workers: ServiceWorkerContainer | null = (navigator as Partial<Navigator>).serviceWorker ?? null,
  ) {}

  /** Fetches the page whole, or finds that it is there. */
  async prepare(): Promise<void> {
    if (this.workers === null) return this.told.ready({ state: "not", why: "no-worker", missing: [] });
    try {
      this.registration = await this.workers.register("/cab/sw.js", { scope: "/cab/", updateViaCache: "none" });
    } catch {
      // offline and never fetched, or refused: `look` says which
    }
    this.registration = this.registration ?? (await this.workers.getRegistration("/cab/").catch(() => undefined)) ?? null;
    const { registration } = this;
    if (registration === null) return this.told.ready({ state: "not", why: "failed", missing: [] });
    registration.addEventListener("updatefound", () => this.follow(registration));
    this.follow(registration);
    await this.look();
  }

  /** Looks again, file by file. */
  async look(): Promise<void> {
    const worker = this.registration?.active;
    if (worker === null || worker === undefined) return;
    const said = await ask(worker, "check");
    if (said === null || said.version === "") return this.told.ready({ state: "not", why: "failed", missing: [] });
    if (said.missing.length > 0) return this.told.ready({ state: "not", why: "missing", missing: said.missing });
    this.told.ready({ state: "ready", version: said.served, files: said.files });
    // a worker that began anew with the phone serves what was chosen until it is asked for its own
    this.told.newer(said.served !== said.version || this.registration?.waiting !== null);
  }

  /** Asks home for a newer version; at most now and then. */
  async update(now_ms: number): Promise<void> {
    if (this.registration === null) return this.prepare();
    if (now_ms - this.looked < UPDATE_MS) return;
    this.looked = now_ms;
    await this.registration.update().catch(() => undefined); // home is away: the next time
  }

  /** Changes to the newer version: true where the page may be loaded again now. */
  async take(): Promise<boolean> {
    const worker = this.registration?.waiting ?? this.registration?.active;
    if (worker === null || worker === undefined) return false;
    const said = await ask(worker, "take");
    return said !== null && said.missing.length === 0 && said.served === said.version;
  }

  private follow(registration: ServiceWorkerRegistration): void {
    const coming = registration.installing;
    if (coming === null) return;
    coming.addEventListener("statechange", () => {
      // redundant: it could not be fetched whole; what was there before stays
      if (coming.state === "redundant" && registration.active === null) this.told.ready({ state: "not", why: "failed", missing: [] });
      if (coming.state === "installed" || coming.state === "activated") void this.look();
    });
  }
}

function ask(worker: ServiceWorker, what: "check" | "take"): Promise<Said | null> {
  return new Promise((answered) => {
    const { port1, port2 } = new MessageChannel();
    const timer = setTimeout(() => answered(null), ANSWER_MS);
    port1.addEventListener("message", (event: MessageEvent<Said>) => {
      clearTimeout(timer);
      answered(event.data);
    });
    port1.start();
    worker.postMessage(what, [port2]);
  });
}
