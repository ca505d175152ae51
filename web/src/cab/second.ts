// A second worker beside the one that counts: it makes the draws while the first sweeps the best picture.
//
// Draws come from a seed, so they are the same wherever they are made. Where there is no second one, it did not
// come in time, fails, or takes too long, the first makes them itself.
import { type Drawing, drawn } from "../core/together";
import type { Draws } from "../core/settle";

/** The first waits for the second for so many times as long as it worked meanwhile itself, and this long at least, ms. */
const PATIENCE = 2;
const LEAST_MS = 1000;

/** Whoever makes draws for the one that counts. */
export interface Second {
  /** Hands over what draws are made of, where the second is there. */
  begin(drawing: Drawing): void;
  /** Draws of what was handed over; undefined where none come. */
  draws(drawing: Drawing): Promise<Draws | undefined>;
}

/** The second's side: says that it is there, makes draws for whoever is at the other end of the port, and is done. */
export function assist(port: MessagePort, done: () => void): void {
  // oxlint-disable-next-line unicorn/prefer-add-event-listener -- so the port begins by itself
  port.onmessage = ({ data }: MessageEvent<Drawing>): void => {
    try {
      const made = drawn(data);
      tell(port, made, [...made.east_draws, ...made.north_draws].map(({ buffer }) => buffer as ArrayBuffer));
    } catch {
      // the first makes them itself, and says what is wrong if it is more than too little room here
      tell(port, null);
    }
    done();
  };
  tell(port, true);
}

/** The first's side of the port. */
export function beside(port: MessagePort | undefined): Second {
  let here = false;
  let handed: Drawing | null = null;
  let since_ms = 0;
  let come: (draws?: Draws) => void = () => undefined;
  const made = new Promise<Draws | undefined>((done) => (come = done));
  if (port !== undefined) {
    // oxlint-disable-next-line unicorn/prefer-add-event-listener -- so the port begins by itself
    port.onmessage = ({ data }: MessageEvent<Draws | true | null>): void => {
      if (data === true) here = true;
      else come(data ?? undefined);
    };
  }
  return {
    begin(drawing) {
      if (port === undefined || !here || handed !== null) return;
      try {
        tell(port, drawing);
      } catch {
        return; // no room for a copy
      }
      [handed, since_ms] = [drawing, Date.now()];
    },
    draws(drawing) {
      if (handed !== drawing) return Promise.resolve(undefined);
      const long_ms = Math.max(PATIENCE * (Date.now() - since_ms), LEAST_MS);
      return Promise.race([made, new Promise<undefined>((done) => setTimeout(done, long_ms))]);
    },
  };
}

// oxlint-disable-next-line unicorn/require-post-message-target-origin -- a port has none
const tell = (port: MessagePort, what: Drawing | Draws | true | null, given: ArrayBuffer[] = []): void => port.postMessage(what, given);
