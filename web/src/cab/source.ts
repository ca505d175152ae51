// Where positions come from. Every source looks the same to the page: it gives fixes, and says when it
// never will.
import type { Fix } from "./live";

/** `denied`: the browser was told not to give positions. `none`: there is nothing that could. */
export type SourceTrouble = "denied" | "none";

export interface PositionSource {
  readonly name: "phone" | "receiver" | "replay";
  /** Gives fixes from now on. A source that has none yet, or none for a while, says nothing. */
  start(onFix: (fix: Fix) => void, onTrouble: (trouble: SourceTrouble) => void): void;
  stop(): void;
  /** The moment now on the clock of its fixes, UTC ms. */
  now(): number;
  /** How much faster than the world it goes: 1, but for a replay. */
  readonly speed: number;
}

/** Clocks of fixes and of the phone that differ by more than this are told apart, ms. */
const OTHER_CLOCK_MS = 5_000;

/** The time of fixes on the phone's own clock: the same, or off by about as much as the last one was. */
export class FixClock {
  private off_ms = 0;

  constructor(private readonly clock: () => number = Date.now) {}

  see(t_ms: number): void {
    const off = t_ms - this.clock();
    // a fix is always a little old: that alone is no other clock
    this.off_ms = Math.abs(off) > OTHER_CLOCK_MS ? off : 0;
  }

  now(): number {
    return this.clock() + this.off_ms;
  }
}

const given = (value: number | null | undefined): number => (typeof value === "number" && Number.isFinite(value) ? value : Number.NaN);

/** The browser's own positions. */
export class PhoneSource implements PositionSource {
  readonly name = "phone";
  readonly speed = 1;
  private readonly clock = new FixClock();
  private watching: number | null = null;
  private last_ms = Number.NaN;

  constructor(private readonly geo: Geolocation | undefined = navigator.geolocation as Geolocation | undefined) {}

  start(onFix: (fix: Fix) => void, onTrouble: (trouble: SourceTrouble) => void): void {
    const { geo } = this;
    if (geo === undefined) return onTrouble("none");
    this.stop();
    this.watching = geo.watchPosition(
      ({ coords, timestamp }) => {
        if (timestamp === this.last_ms) return; // some phones say the last one again
        this.last_ms = timestamp;
        this.clock.see(timestamp);
        onFix({
          t_ms: timestamp,
          lat_deg: coords.latitude,
          lon_deg: coords.longitude,
          acc_m: given(coords.accuracy),
          speed_m_s: given(coords.speed),
          course_deg: given(coords.heading),
        });
      },
      ({ code }) => {
        // 1 is a refusal. Others mean: no fix yet, and browsers tell that now and then for no reason
        if (code === 1) onTrouble("denied");
      },
      { enableHighAccuracy: true, maximumAge: 0, timeout: 30_000 },
    );
  }

  stop(): void {
    if (this.watching !== null) this.geo?.clearWatch(this.watching);
    this.watching = null;
  }

  now(): number {
    return this.clock.now();
  }
}

/** A track that was recorded, driven again: for tests, and at any speed. */
export class ReplaySource implements PositionSource {
  readonly name = "replay";
  private timer: ReturnType<typeof setInterval> | null = null;
  private next = 0;

  /** `begun_ms`: when its first fix was driven, on the phone's clock; what lies before now is not given. */
  constructor(private readonly track: readonly Fix[], readonly speed: number, private readonly begun_ms: number, private readonly clock: () => number = Date.now) {}

  start(onFix: (fix: Fix) => void, onTrouble: (trouble: SourceTrouble) => void): void {
    if (this.track.length === 0) return onTrouble("none");
    const now = this.now();
    this.next = this.track.filter(({ t_ms }) => t_ms < now - this.speed * 1000).length;
    this.timer = setInterval(() => this.emit(onFix), Math.max(10, Math.min(200, 500 / this.speed)));
  }

  stop(): void {
    if (this.timer !== null) clearInterval(this.timer);
    this.timer = null;
  }

  now(): number {
    return (this.track[0]?.t_ms ?? 0) + (this.clock() - this.begun_ms) * this.speed;
  }

  private emit(onFix: (fix: Fix) => void): void {
    const now = this.now();
    for (let fix = this.track[this.next]; fix !== undefined && fix.t_ms <= now; fix = this.track[this.next]) {
      this.next += 1;
      onFix(fix);
    }
    if (this.next >= this.track.length) this.stop();
  }
}
