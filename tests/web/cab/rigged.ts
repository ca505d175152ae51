// A phone that drives in memory: its log without a disk, positions that the test gives, what it played.
import { Drive, type Around } from "../../../web/src/cab/work/drive";
import { driving } from "../../../web/src/cab/work/driving";
import type { Sign } from "../../../web/src/cab/work/tones";
import type { PositionSource } from "../../../web/src/cab/source";
import type { Fix } from "../../../web/src/cab/live";
import type { Draft } from "../../../web/src/keep/entry";
import type { Keeper } from "../../../web/src/keep/keep";
import type { Log, Mark } from "../../../web/src/core/words";
import { T0_MS } from "./drive";
import { RIG } from "./rig";

const PACK = {
  paddocks: [],
  rigs: [{ id: "r", name: "r", version: 1, made_ms: 0, chain: [RIG] }],
  settings: { prices: {} },
} as unknown as ReturnType<Around["pack"]>;
/** A log in memory: what the keeper's log does, without a disk. */
export class FakeLog {
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

export interface Rigged {
  drive: Drive;
  log: FakeLog;
  source: HandSource;
  played: Sign[];
  told: { lever?: string | undefined; standing?: boolean | undefined };
  at: { ms: number };
}

export function rigged(log = new FakeLog()): Rigged {
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
export const settle = (): Promise<void> => new Promise((resolve) => setTimeout(resolve, 120));

export async function drove({ drive, source, at }: Rigged, fixes: readonly Fix[], taps: readonly number[]): Promise<void> {
  void drive.begin();
  const left = taps.slice();
  for (const fix of fixes) {
    at.ms += 1000;
    source.give(fix);
    if (fix === fixes[0]) await settle(); // the picture begins where the first one is
    if (left[0] !== undefined && fix.t_ms >= T0_MS + left[0] * 1000) {
      drive.tap("pad");
      left.shift();
    }
  }
  await settle();
}

/** What the page knew of a drive is forgotten. */
export const over = (): void => driving.set({ on: false, live: null, now: null, making: false, doubt: null, strains: 0, unstored: 0 });
