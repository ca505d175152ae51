// Keeps the screen on while a page logs. The browser lets go of it whenever the page is covered, and
// may refuse when the battery is low.

export type Awake = "held" | "lost" | "off" | "none";

export class ScreenLock {
  private wanted = false;
  private sentinel: WakeLockSentinel | null = null;
  private asking = false;
  private page: Document | null = null;

  constructor(
    private readonly tell: (awake: Awake) => void,
    private readonly given: Document | null = null,
    private readonly lock: WakeLock | null = (navigator as Partial<Navigator>).wakeLock ?? null,
  ) {}

  /** Keeps the screen on from now on, as well as the browser lets it. */
  async hold(): Promise<void> {
    this.wanted = true;
    this.listen();
    if (this.lock === null) this.tell("none");
    else await this.ask();
  }

  async letGo(): Promise<void> {
    this.wanted = false;
    const held = this.sentinel;
    this.sentinel = null;
    if (held !== null) await held.release();
    this.tell(this.lock === null ? "none" : "off");
  }

  /** Not before it is held: this file is read where there is no page, too. */
  private listen(): void {
    if (this.page !== null) return;
    this.page = this.given ?? document;
    this.page.addEventListener("visibilitychange", () => void this.ask());
  }

  private async ask(): Promise<void> {
    if (!this.wanted || this.asking || this.sentinel !== null || this.lock === null || this.page?.visibilityState === "hidden") return;
    this.asking = true;
    try {
      const held = await this.lock.request("screen");
      this.sentinel = held;
      held.addEventListener("release", () => {
        if (this.sentinel !== held) return;
        this.sentinel = null;
        if (this.wanted) this.tell("lost");
      });
      this.tell("held");
    } catch {
      this.tell("lost");
    } finally {
      this.asking = false;
    }
  }
}
