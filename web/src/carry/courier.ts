// Carries the log home by itself, whenever home can be reached: when the page begins, when the network
// or the page comes back, and from time to time. Waits longer after each failure that passes; stops
// and says so on one that does not.
import type { CallError } from "./call";
import { CallError as Failure } from "./call";
import type { Home } from "./pair";
import { sendAll, type Outbox } from "./send";

export type Sending =
  | { readonly state: "unpaired" }
  /** Everything is at home, as of this moment. */
  | { readonly state: "home"; readonly at_ms: number }
  | { readonly state: "sending"; readonly left: number }
  /** Home cannot be reached now; it is tried again by itself. */
  | { readonly state: "waiting"; readonly until_ms: number; readonly why: CallError }
  /** Home refuses; nothing is sent until the driver does something. */
  | { readonly state: "stopped"; readonly why: CallError };

/** Timers and the phone's clock, so that tests need not wait. */
export interface Timing {
  now(): number;
  after(ms: number, act: () => void): () => void;
  /** A number from 0 up to 1. */
  chance(): number;
}

const REAL: Timing = {
  now: Date.now,
  after(ms, act) {
    const timer = setTimeout(act, ms);
    return () => clearTimeout(timer);
  },
  chance: Math.random,
};

const FIRST_MS = 5_000;
const MOST_MS = 5 * 60_000;
/** With nothing to wait for, home is looked for so often. */
const ROUND_MS = 60_000;

export class Courier {
  private running: Promise<void> | null = null;
  private again = false;
  private failures = 0;
  private cancel: (() => void) | null = null;
  private state: Sending = { state: "unpaired" };
  private ended = false;

  constructor(
    private readonly log: Outbox,
    /** The home to send to; null: this phone has none, or only looks. */
    private readonly homeOf: () => Home | null,
    private readonly tell: (sending: Sending) => void,
    /** Everything is at home; told of another phone that keeps the same log. */
    private readonly arrived: (also: string | null) => void = () => undefined,
    private readonly fetcher?: typeof fetch,
    private readonly timing: Timing = REAL,
  ) {}

  /**
   * Tries now, whatever the waiting: the page began, the network or the page came back. After a stop
   * only `anew` tries again: the driver asked, or paired the phone anew.
   */
  async go(anew = false): Promise<void> {
    if (this.ended || (this.state.state === "stopped" && !anew)) return;
    this.cancel?.();
    this.cancel = null;
    if (this.running !== null) {
      this.again = true;
      return this.running;
    }
    this.running = this.round();
    try {
      await this.running;
    } finally {
      this.running = null;
    }
    if (this.again) {
      this.again = false;
      return this.go(anew);
    }
  }

  /** No more tries. */
  end(): void {
    this.ended = true;
    this.cancel?.();
  }

  private async round(): Promise<void> {
    const home = this.homeOf();
    if (home === null) {
      this.say({ state: "unpaired" });
      return;
    }
    try {
      const also = await sendAll(this.log, home, (left) => this.say({ state: "sending", left }), this.fetcher);
      this.failures = 0;
      this.say({ state: "home", at_ms: this.timing.now() });
      this.next(ROUND_MS);
      this.arrived(also);
    } catch (error) {
      const why = error instanceof Failure ? error : new Failure(0, "unreadable", String(error));
      if (why.passes) this.wait(why);
      else this.say({ state: "stopped", why });
    }
  }

  private wait(why: CallError): void {
    this.failures += 1;
    const longest = Math.min(MOST_MS, FIRST_MS * 2 ** (this.failures - 1));
    // not all phones of a farm at the same moment
    const ms = why.after_s === null ? longest * (0.75 + 0.25 * this.timing.chance()) : why.after_s * 1000;
    this.say({ state: "waiting", until_ms: this.timing.now() + ms, why });
    this.next(ms);
  }

  private next(ms: number): void {
    this.cancel?.();
    this.cancel = this.ended ? null : this.timing.after(ms, () => void this.go());
  }

  private say(state: Sending): void {
    this.state = state;
    this.tell(state);
  }
}
