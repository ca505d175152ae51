import { Drive, type Around } from "../../../web/src/cab/work/drive";
import { driving } from "../../../web/src/cab/work/driving";
import type { Sign } from "../../../web/src/cab/work/tones";
import type { PositionSource } from "../../../web/src/cab/source";
import type { Fix } from "../../../web/src/cab/live";
import type { Draft } from "../../../web/src/keep/entry";
import type { Keeper } from "../../../web/src/keep/keep";
import type { Log, Mark } from "../../../web/src/core/words";
import { Driver, T0_MS } from "./drive";
import { RIG } from "./rig";

const PACK = {
  paddocks: [],
  rigs: [{ id: "r", name: "r", version: 1, made_ms: 0, chain: [RIG] }],
  settings: { prices: {} },
} as unknown as ReturnType<Around["pack"]>;
/** A log in memory: what the keeper's log does, without a disk. */
class FakeLog {
  readonly dev = "phone-test";
  readonly rows: Draft[] = [];
  failing = false;

  append(draft: Draft): Promise<number> {
    if (this.failing) return Promise.reject(new Error("full"));
    this.rows.push(draft);
    return Promise.resolve(this.rows.length);
  }

  unstored(): [] {
    return [];
  }

  log(): Promise<Log> {
    const fixes = this.rows.filter((row) => row.kind === "fix") as (Fix & { kind: string })[];
    const undone = new Set(this.rows.map((row) => (row.kind === "undo" ? row.of : 0)));
    const column = (of: (fix: Fix) => number): Float64Array => Float64Array.from(fixes, of);
    return Promise.resolve({
      fixes: {
        t_ms: column((f) => f.t_ms),
        lat_deg: column((f) => f.lat_deg),
        lon_deg: column((f) => f.lon_deg),
        acc_m: column((f) => f.acc_m),
        speed_m_s: column((f) => f.speed_m_s),
        course_deg: column((f) => f.course_deg),
        phone: new Int32Array(fixes.length),
        segment: new Int32Array(fixes.length),
        phones: [this.dev],
      },
      marks: this.rows.map((row, i): Mark => ({ t_ms: row.t_ms, kind: undone.has(i + 1) ? "hidden" : row.kind, phone: this.dev, seq: i + 1, says: row as unknown as Record<string, unknown> })).filter(({ kind }) => kind !== "fix"),
      skipped: [],
      notes: [],
    });
  }
}

/** Positions that the test gives. */
class HandSource implements PositionSource {
  readonly name = "replay";
  readonly speed = 1;
  t_ms = T0_MS;
  give: (fix: Fix) => void = () => undefined;

  start(onFix: (fix: Fix) => void): void {
    this.give = (fix) => {
      this.t_ms = fix.t_ms;
      onFix(fix);
    };
  }

  stop(): void {
    this.give = () => undefined;
  }

  now(): number {
    return this.t_ms;
  }
}

interface Rigged {
  drive: Drive;
  log: FakeLog;
  source: HandSource;
  played: Sign[];
  told: { lever?: string | undefined; standing?: boolean | undefined };
  at: { ms: number };
}

function rigged(log = new FakeLog()): Rigged {
  const [source, played, told, at] = [new HandSource(), [] as Sign[], {}, { ms: 10_000 }];
  const drive = new Drive({
    log: log as unknown as Keeper,
    source,
    pack: () => PACK,
    play: (sign) => void played.push(sign),
    tell: (more) => void Object.assign(told, more),
    clock: () => at.ms,
  });
  return { drive, log, source, played, told, at };
}

/** Lets what waits for timers and answers go on. */
const settle = (): Promise<void> => new Promise((resolve) => setTimeout(resolve, 120));

async function drove({ drive, source, at }: Rigged, fixes: readonly Fix[], taps: readonly number[]): Promise<void> {
  void drive.begin();
  const left = taps.slice();
  for (const fix of fixes) {
    at.ms += 1000;
    source.give(fix);
    if (fix === fixes[2]) await settle();
    if (left[0] !== undefined && fix.t_ms >= T0_MS + left[0] * 1000) {
      drive.tap("pad");
      left.shift();
    }
  }
  await settle();
}

describe("the drive", () => {
  afterEach(() => driving.set({ on: false, live: null, now: null, making: false, doubt: null, strains: 0, unstored: 0 }));

  it("shows the same ground when it is begun again from its log", async () => {
    const first = rigged();
    await drove(first, new Driver(0, 0, 0.3).go(200, 2).fixes, [20, 150]);
    const before = driving.get().now;
    first.drive.end();
    expect(before?.sown_ha).toBeGreaterThan(0.1);
    driving.set({ live: null, now: null });
    const again = rigged(first.log);
    again.source.t_ms = T0_MS + 200_000;
    await again.drive.begin();
    expect(driving.get().now?.sown_ha).toBeCloseTo(before?.sown_ha ?? 0, 3);
    expect(again.told.lever).toBe("up");
    again.drive.end();
  });

  it("comes back with the tool down where the log left it down, and the next tap lifts it", async () => {
    const first = rigged();
    await drove(first, new Driver().go(60, 2).fixes, [20]);
    first.drive.end();
    const again = rigged(first.log);
    again.source.t_ms = T0_MS + 60_000;
    await again.drive.begin();
    expect(again.told.lever).toBe("down");
    again.drive.tap("button");
    expect(again.log.rows[again.log.rows.length - 1]).toMatchObject({ kind: "lever", lever: "up", how: "button" });
    again.drive.end();
  });

  it("takes the lever up from the log though positions come while its ground is painted", async () => {
    const first = rigged();
    await drove(first, new Driver().go(900, 2).fixes, [20]);
    first.drive.end();
    const again = rigged(first.log);
    again.source.t_ms = T0_MS + 900_000;
    const begun = again.drive.begin();
    expect(again.drive.tap("pad")).toBe(false);
    again.source.give({ ...(new Driver(1800, 0).go(2, 2).fixes[0] as Fix), t_ms: T0_MS + 901_000 });
    await begun;
    expect(again.told.lever).toBe("down");
    expect(driving.get().now?.down).toBe(true);
    again.drive.end();
  });

  it("takes a second touch for the first while the cab shakes", () => {
    const { drive, log, at } = rigged();
    expect(drive.tap("pad")).toBe(true);
    at.ms += 699;
    expect(drive.tap("pad")).toBe(false);
    at.ms += 1;
    expect(drive.tap("pad")).toBe(true);
    expect(log.rows.map((row) => row.kind === "lever" && row.lever)).toEqual(["down", "up"]);
  });

  it("sounds when an entry cannot be written, and keeps the rim hollow", async () => {
    const made = rigged();
    made.log.failing = true;
    made.drive.tap("pad");
    await settle();
    expect(made.played).toEqual(["down", "failed"]);
    expect(driving.get().unstored).toBe(1);
    expect(made.told.lever).toBe("down");
  });

  it("takes a lever entry back from before the page was loaded", async () => {
    const first = rigged();
    await drove(first, new Driver().go(60, 2).fixes, [20]);
    first.drive.end();
    const again = rigged(first.log);
    again.source.t_ms = T0_MS + 60_000;
    await again.drive.begin();
    expect(again.drive.oops()).toBe(true);
    await settle();
    const lever = again.log.rows.findIndex(({ kind }) => kind === "lever") + 1;
    expect(again.log.rows[again.log.rows.length - 1]).toMatchObject({ kind: "undo", of: lever });
    expect(driving.get().now?.sown_ha).toBe(0);
    expect(again.told.lever).toBe("up");
    again.drive.end();
  });

  it("writes an event for each corner in which tines were dragged", async () => {
    const made = rigged();
    await drove(made, new Driver().go(40, 2).go(7, 2, 2 / 9).go(30, 2).fixes, [5]);
    expect(made.played.filter((sign) => sign === "strain")).toHaveLength(1);
    expect(made.log.rows.filter((row) => row.kind === "mark")).toMatchObject([{ what: "strain", side: "left" }]);
    made.drive.end();
  });
});
