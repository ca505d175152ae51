// Writes down what the phone and its browser do to the page, so that a hole in the log has a reason:
// covered, stopped, asleep, its clock moved.
import type { DraftOf, PhoneEvent } from "../keep/entry";
import type { Keeper } from "../keep/keep";

/** Timers of a page that is shown run late by less than this, ms. */
const LATE_MS = 5_000;
/** Clocks are set right by small steps all the time; this is more, ms. */
const JUMP_MS = 2_000;
const TICK_MS = 1_000;

/** The clocks, so that tests can move them. */
export interface Clocks {
  wall(): number;
  /** Goes on evenly whatever happens to the other; on some phones it stands while they sleep. */
  steady(): number;
}

const REAL: Clocks = { wall: () => Date.now(), steady: () => performance.now() };
type Says = Omit<DraftOf<"phone">, "kind" | "t_ms" | "what">;

/** What one look at the clocks tells: how long the page stood, how far the wall clock moved; 0: not. */
export function compared(before: { wall: number; steady: number }, now: { wall: number; steady: number }): { gap_ms: number; jump_ms: number } {
  const gap = now.steady - before.steady;
  const jump = now.wall - before.wall - gap;
  return {
    gap_ms: gap > LATE_MS ? Math.round(gap) : 0,
    jump_ms: Math.abs(jump) > JUMP_MS ? Math.round(jump) : 0,
  };
}

/** Writes `phone` entries until the page ends; the log's own failures are shown elsewhere. */
export class Watch {
  private last: { wall: number; steady: number };
  private shown: boolean;
  private failing = "";

  constructor(
    private readonly log: Keeper,
    private readonly clocks: Clocks = REAL,
    private readonly page: Document = document,
  ) {
    this.last = this.read();
    this.shown = page.visibilityState !== "hidden";
  }

  /** Listens from now on. */
  begin(says: Says): void {
    this.write("start", says);
    this.page.addEventListener("visibilitychange", () => this.turned());
    this.page.addEventListener("freeze", () => this.write("freeze"));
    this.page.addEventListener("resume", () => this.write("resume", this.look()));
    window.addEventListener("pagehide", () => this.write("leave"));
    this.log.onWrite((write) => {
      if (write.state === "failed") this.failing = write.why.message;
      else if (this.failing !== "") {
        const note = this.failing.slice(0, 200);
        this.failing = "";
        this.write("keep", { note: `could be written again after: ${note}` });
      }
    });
    setInterval(() => this.tick(), TICK_MS);
  }

  /** One entry about the phone. */
  write(what: PhoneEvent, says: Says = {}): void {
    if (!this.log.writes) return;
    this.log.append({ kind: "phone", t_ms: this.clocks.wall(), what, ...says }).catch(() => undefined);
    // the browser may stop the page any moment: nothing waits for its neighbours now
    if (what !== "start") void this.log.flush();
  }

  private tick(): void {
    // a hidden page's timers are slowed down: what it missed is told when it is shown again
    const says = this.shown ? this.look() : {};
    if (says.jump_ms !== undefined) this.write("clock", says);
    else if (says.gap_ms !== undefined) this.write("resume", says);
  }

  private turned(): void {
    const shown = this.page.visibilityState !== "hidden";
    if (shown === this.shown) return;
    this.shown = shown;
    this.write(shown ? "shown" : "hidden", this.look());
  }

  /** What the clocks say since the last look. */
  private look(): Says {
    const now = this.read();
    const { gap_ms, jump_ms } = compared(this.last, now);
    this.last = now;
    return { ...(gap_ms === 0 ? {} : { gap_ms }), ...(jump_ms === 0 ? {} : { jump_ms }) };
  }

  private read(): { wall: number; steady: number } {
    return { wall: this.clocks.wall(), steady: this.clocks.steady() };
  }
}
