// A second worker beside the one that counts: it goes on errands while the first goes on (core/errand).
//
// What it brings is the same wherever it is made. Where there is no second one, it did not come in time, fails,
// or takes too long, the first makes it itself.
import { type Brought, type Errand, fetching } from "../core/errand";

/** The first waits for the second for so many times as long as it worked itself since that was sent or told last, and this long at least, ms. */
const PATIENCE = 4;
const LEAST_MS = 3000;

/** Whoever is sent for one that counts. */
export interface Second {
  /** Sends, where the second is there. */
  send(errand: Errand | undefined): void;
  /** What was sent for, or what comes of it next; undefined where it does not come. */
  bring(errand: Errand | undefined): Promise<Brought | undefined>;
}

/** Number of an errand with it, or with what it brought; null: it failed. True: somebody is there. */
type Told = readonly [at: number, what: Errand | Brought | null] | true;

/** The second's side: says that it is there, and goes for whoever is at the other end of the port. */
export function assist(port: MessagePort): void {
  // oxlint-disable-next-line unicorn/prefer-add-event-listener -- so the port begins by itself
  port.onmessage = ({ data: [at, errand] }: MessageEvent<readonly [number, Errand]>): void => {
    try {
      // copied: once a buffer was handed over V8 compiles all code anew that knows typed arrays
      for (const brought of fetching(errand)) tell(port, [at, brought]);
    } catch {
      // the first makes it itself, and says what is wrong if it is more than too little room here
      tell(port, [at, null]);
    }
  };
  tell(port, true);
}

/** The first's side of the port. */
export function beside(port: MessagePort | undefined): Second {
  let here = false;
  const sent: { readonly errand: Errand; since_ms: number; readonly came: (Brought | null)[]; wake: () => void }[] = [];
  if (port !== undefined) {
    // oxlint-disable-next-line unicorn/prefer-add-event-listener -- so the port begins by itself
    port.onmessage = ({ data }: MessageEvent<readonly [number, Brought | null] | true>): void => {
      if (data === true) here = true;
      else {
        const one = sent[data[0]];
        if (one === undefined) return;
        one.since_ms = Date.now();
        one.came.push(data[1]);
        one.wake();
      }
    };
  }
  return {
    send(errand) {
      if (port === undefined || errand === undefined || !here) return;
      try {
        tell(port, [sent.length, errand]);
      } catch {
        return; // no room for a copy
      }
      sent.push({ errand, since_ms: Date.now(), came: [], wake: () => undefined });
    },
    bring(errand) {
      const mine = sent.find((one) => one.errand === errand);
      if (mine === undefined || !here) return Promise.resolve(undefined);
      const long_ms = Math.max(PATIENCE * (Date.now() - mine.since_ms), LEAST_MS);
      return new Promise<void>((done) => {
        mine.wake = done;
        if (mine.came.length > 0) done();
        else setTimeout(done, long_ms);
      }).then(() => {
        const brought = mine.came.shift() ?? undefined;
        here = brought !== undefined; // who stays away once is not sent for again
        return brought;
      });
    },
  };
}

// oxlint-disable-next-line unicorn/require-post-message-target-origin -- a port has none
const tell = (port: MessagePort, what: Told): void => port.postMessage(what);
