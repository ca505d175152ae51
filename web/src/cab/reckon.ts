// Has the day computed in a worker: with progress, a first answer from the grid meanwhile, and an end
// to it at any moment.
import { SETTINGS, type Settings } from "../core/words";
import { costs, ratesSet } from "./prices";
import { cab, keeper } from "./state";
import type { Failure, First, Job, Open, Painted, Said, Sums } from "./sums";

/** Draws of the drift, from which chances come. */
const DRAWS = 60;

export interface Asked {
  readonly paddock?: string | null;
  readonly lap?: boolean;
  readonly clearance_m?: number;
  /** Only what was logged: no settling, no chances; for a first lap. */
  readonly quick?: boolean;
}

export interface Hears {
  stage(stage: string, part: number): void;
  first(first: First): void;
  /** What is asked of the driver; long before it is done. */
  open?(open: Open): void;
  done(sums: Sums): void;
  failed(why: Failure): void;
}

let lent: (() => Painted | null) | null = null;

/** Lends what is painted while driving, for the first answer. */
export function lend(painted: () => Painted | null): void {
  lent = painted;
}

/** The page's own script: where there is no page, it is the worker (web/cab/start.js). */
const script = (): string => document.querySelector<HTMLScriptElement>("script[src]")?.src ?? "";

/** A second worker for the first's errands, on a phone with more than one core; null where there is none to be had. */
function helper(): Worker | null {
  try {
    return navigator.hardwareConcurrency > 1 ? new Worker(script()) : null;
  } catch {
    return null;
  }
}

/** Workers that have counted and rest: a count soon after, as after an answer, takes a fifth less with what was compiled for them. */
let rested: readonly [first: Worker, second: Worker | null] | null = null;

/** Begins; `hears` is told until it is done, has failed, or what this returns is called. */
export function reckon(asked: Asked, hears: Hears): () => void {
  const pair = rested ?? [new Worker(script()), helper()];
  rested = null;
  const [worker, second] = pair;
  const { port1, port2 } = new MessageChannel();
  // oxlint-disable-next-line unicorn/require-post-message-target-origin -- a worker has none
  second?.postMessage(null, [port2]);
  let over = false;
  const end = (): void => {
    if (!over) pair.forEach((one) => one?.terminate());
    over = true;
  };
  // oxlint-disable-next-line unicorn/prefer-add-event-listener -- the next count's takes its place
  worker.onmessage = ({ data }: MessageEvent<Said>): void => {
    if (over) return;
    if (data.what === "stage") hears.stage(data.stage, data.part);
    else if (data.what === "first") hears.first(data.first);
    else if (data.what === "open") hears.open?.(data.open);
    else {
      if (rested !== null) end();
      else [over, rested] = [true, pair];
      if (data.what === "done") hears.done(data.sums);
      else hears.failed(data.why);
    }
  };
  // oxlint-disable-next-line unicorn/prefer-add-event-listener -- as above
  worker.onerror = (event): void => {
    end();
    hears.failed({ code: "broken", message: event.message, hint: "" });
  };
  // what waits for its neighbours is written first: the worker reads the disk
  void keeper()
    .flush()
    // oxlint-disable-next-line unicorn/require-post-message-target-origin -- a worker has none
    .then(() => worker.postMessage(jobOf(asked), [port1]));
  return end;
}

/** The same as a promise; rejects never, a failure is an answer. */
export function reckoned(asked: Asked): Promise<Sums | Failure> {
  return new Promise((done) => {
    reckon(asked, { stage: () => undefined, first: () => undefined, done, failed: done });
  });
}

export const isFailure = (said: Sums | Open | Failure): said is Failure => "code" in said;

function jobOf({ paddock = null, lap = false, clearance_m, quick = false }: Asked): Job {
  const { pack } = cab.get();
  const { prices, trip_min } = costs();
  const settings: Settings = {
    ...SETTINGS,
    ...(clearance_m === undefined ? {} : { clearance_m }),
    settle: !quick,
    draws: quick ? 0 : DRAWS,
  };
  return {
    unstored: keeper().unstored(),
    dev: keeper().dev,
    paddocks: (pack?.paddocks ?? []).map(({ id, name, land }) => ({ id, name, land })),
    paddock,
    lap,
    rigs: pack?.rigs ?? [],
    settings,
    painted: lent === null ? null : lent(),
    weigh: !quick,
    prices,
    trip_s: trip_min * 60,
    rates: ratesSet(),
    day_ms: dayBegan(Date.now(), pack?.settings.day_start ?? "04:00"),
  };
}

/** When the farm's day began that a moment lies in, by the phone's own clock, UTC ms. */
export function dayBegan(now_ms: number, day_start: string): number {
  const [hour = 4, minute = 0] = day_start.split(":").map(Number);
  const begun = new Date(now_ms);
  begun.setHours(hour, minute, 0, 0);
  if (begun.getTime() > now_ms) begun.setDate(begun.getDate() - 1);
  return begun.getTime();
}
