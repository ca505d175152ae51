import { ScreenLock, type Awake } from "../../../web/src/cab/awake";
import { hoursLeft, stepPassed } from "../../../web/src/cab/power";
import { compared } from "../../../web/src/cab/watch";

const HOUR = 3_600_000;

describe("the phone's clocks", () => {
  const at = (wall: number, steady: number) => ({ wall, steady });

  it("that run together tell nothing", () => {
    expect(compared(at(0, 0), at(1000, 1000))).toEqual({ gap_ms: 0, jump_ms: 0 });
    expect(compared(at(0, 0), at(1900, 1000))).toEqual({ gap_ms: 0, jump_ms: 0 });
  });

  it("tell that the page stood", () => {
    expect(compared(at(0, 0), at(41_200, 41_200))).toEqual({ gap_ms: 41_200, jump_ms: 0 });
  });

  it("tell that one was moved, forwards and back", () => {
    expect(compared(at(0, 0), at(HOUR + 1000, 1000))).toEqual({ gap_ms: 0, jump_ms: HOUR });
    expect(compared(at(0, 0), at(1000 - HOUR, 1000))).toEqual({ gap_ms: 0, jump_ms: -HOUR });
  });
});

describe("the battery", () => {
  it("says nothing before the drain is known", () => {
    expect(hoursLeft({ t_ms: 0, part: 0.8 }, { t_ms: HOUR / 20, part: 0.7 })).toBeNull();
    expect(hoursLeft({ t_ms: 0, part: 0.8 }, { t_ms: HOUR, part: 0.79 })).toBeNull();
    expect(hoursLeft({ t_ms: 0, part: 0.8 }, { t_ms: HOUR, part: 0.9 })).toBeNull();
  });

  it("lasts as long as the drain of so far lets it", () => {
    expect(hoursLeft({ t_ms: 0, part: 0.9 }, { t_ms: HOUR, part: 0.8 })).toBeCloseTo(8);
    expect(hoursLeft({ t_ms: 0, part: 0.6 }, { t_ms: 2 * HOUR, part: 0.2 })).toBeCloseTo(1);
  });

  it("is worth an entry when it falls past a step, not when it rises", () => {
    expect(stepPassed(0.21, 0.2)).toBe(0.2);
    expect(stepPassed(0.6, 0.09)).toBe(0.1);
    expect(stepPassed(0.2, 0.19)).toBeNull();
    expect(stepPassed(0.19, 0.3)).toBeNull();
  });
});

class FakeSentinel extends EventTarget {
  released = false;

  async release(): Promise<void> {
    this.released = true;
    this.dispatchEvent(new Event("release"));
  }
}

class FakePage extends EventTarget {
  visibilityState = "visible";

  turn(state: "visible" | "hidden"): void {
    this.visibilityState = state;
    this.dispatchEvent(new Event("visibilitychange"));
  }
}

describe("the screen", () => {
  function made(refuses = false) {
    const given: FakeSentinel[] = [];
    const told: Awake[] = [];
    const page = new FakePage();
    const lock = {
      request: async () => {
        if (refuses) throw new DOMException("low battery", "NotAllowedError");
        given.push(new FakeSentinel());
        return given[given.length - 1];
      },
    } as unknown as WakeLock;
    return { given, told, page, lock: new ScreenLock((awake) => told.push(awake), page as unknown as Document, lock) };
  }
  const settle = async (): Promise<void> => {
    for (let n = 0; n < 5; n++) await Promise.resolve();
  };

  it("is asked to stay on again after the page was covered", async () => {
    const { given, told, page, lock } = made();
    await lock.hold();
    await given[0]?.release(); // as browsers do when the page is covered
    page.turn("hidden");
    await settle();
    expect(told).toEqual(["held", "lost"]);
    page.turn("visible");
    await settle();
    expect(told).toEqual(["held", "lost", "held"]);
    expect(given.length).toBe(2);
  });

  it("is let go of and not asked for again", async () => {
    const { given, told, page, lock } = made();
    await lock.hold();
    await lock.letGo();
    page.turn("hidden");
    page.turn("visible");
    await settle();
    expect([given.length, given[0]?.released]).toEqual([1, true]);
    expect(told).toEqual(["held", "off"]);
  });

  it("that the browser will not keep on is said to be so", async () => {
    const { told, lock } = made(true);
    await lock.hold();
    expect(told).toEqual(["lost"]);
    const none: Awake[] = [];
    await new ScreenLock((awake) => none.push(awake), new FakePage() as unknown as Document, null).hold();
    expect(none).toEqual(["none"]);
  });
});
