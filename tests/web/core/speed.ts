// How fast the phone's engine is under Node, in a process of its own as a worker begins:
//
//     node speed.mjs day.json > one line of JSON
//     node speed.mjs day.json two > a whole count with a second worker beside it
//     node speed.mjs day.json again > the same where they have counted before that day
import { readFileSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { MessageChannel, Worker, isMainThread, parentPort } from "node:worker_threads";
import { after, sownAgain } from "../../../web/src/cab/after";
import { type Second, assist, beside } from "../../../web/src/cab/second";
import { Clip } from "../../../web/src/core/clip";
import { quantile, rowsOf } from "../../../web/src/core/columns";
import { find, finding, whole } from "../../../web/src/core/day";
import { type Brought, type Errand, fetched } from "../../../web/src/core/errand";
import { glance } from "../../../web/src/core/glance";
import { LiveGrid, quadsAlong } from "../../../web/src/core/grid";
import { EXAMPLE } from "../../../web/src/core/price";
import { ringsOf } from "../../../web/src/core/rings";
import { type Log, SETTINGS, type Tally } from "../../../web/src/core/words";
import { type Given, logOf, paddockOf } from "./given";

/**
 * Seconds that this thread had the processor: neither a busy machine nor Node's own helpers, which compile
 * and collect beside it, show.
 */
const threadSeconds = (): number => Number(readFileSync("/proc/thread-self/schedstat", "utf8").split(" ")[0]) / 1e9;

function took<T>(work: () => T): { made: T; thread_s: number; all_s: number } {
  const [used, started] = [process.cpuUsage(), threadSeconds()];
  const made = work();
  const { user, system } = process.cpuUsage(used);
  return { made, thread_s: threadSeconds() - started, all_s: (user + system) / 1e6 };
}

/** A loop that anybody can run: a hundred million products of pairs out of eight megabytes. */
function reference(): number {
  const values = new Float64Array(1 << 20).map((_, i) => Math.sin(i));
  let sum = 0;
  for (let round = 0; round < 100; round++) {
    for (let i = 0; i < values.length; i++) sum += (values[i] ?? 0) * (values[i ^ round] ?? 0);
  }
  return sum;
}

/** The day painted as it was driven: microseconds a step, half of them and 99 % below. */
function painted(tally: Tally, live: LiveGrid): { half_us: number; most_us: number; steps: number } {
  const steps: number[] = [];
  for (const way of tally.ways) {
    const tool = { width_m: way.width_m, front_rank_m: 0, rear_rank_m: 0 };
    const quads = quadsAlong(way, tool);
    for (let k = 0; 8 * k < quads.length; k++) {
      const moment = { run: way.run, t_s: way.t_s[k] ?? 0, way_m: 2 * k, width_m: way.width_m };
      const started = performance.now();
      live.paint(quads.subarray(8 * k, 8 * k + 8), moment);
      steps.push((performance.now() - started) * 1e3);
    }
  }
  return { half_us: quantile(steps, 0.5), most_us: quantile(steps, 0.99), steps: steps.length };
}

/**
 * Of each errand, in the order they were sent: after what seconds of the second worker's thread it told something of
 * what it was sent for, and after what it was done.
 */
const went: (readonly number[])[] = [];

/** The day's log until a part of its time has passed. */
function until(log: Log, part: number): Log {
  const { fixes } = log;
  const at = (fixes.t_ms[0] ?? 0) + part * ((fixes.t_ms[fixes.t_ms.length - 1] ?? 0) - (fixes.t_ms[0] ?? 0));
  const rows = Int32Array.from(fixes.t_ms.keys()).filter((i) => (fixes.t_ms[i] ?? 0) <= at);
  return { ...log, fixes: rowsOf(fixes, rows), marks: log.marks.filter(({ t_ms }) => t_ms <= at) };
}

/** When the first worker sent for something, or wanted it, by its own thread's time, s. */
interface Moment {
  readonly at_s: number;
  readonly send?: Errand;
  readonly want?: Errand;
}

/**
 * All of a count as the worker makes it beside a second one, by thread time: on idle cores the second begins when
 * it is sent and has brought what was before, and the first waits where that takes longer than its own work.
 */
async function count(log: Log, given: Given, second: Second): Promise<{ both_s: number; thread_s: number; second_s: number; tally: Tally }> {
  const paddock = paddockOf(given);
  const clip = new Clip();
  const begun = threadSeconds();
  const moments: Moment[] = [];
  went.length = 0;
  const breath = (): Promise<unknown> => new Promise((done) => setTimeout(done));
  const sent = (send: Errand | undefined): void => {
    if (send === undefined) return;
    second.send(send);
    moments.push({ at_s: threadSeconds() - begun, send });
  };
  const brought = async <T extends Errand>(want: T | undefined): Promise<Brought | undefined> => {
    if (want === undefined) return undefined;
    moments.push({ at_s: threadSeconds() - begun, want });
    const found = await second.bring(want);
    if (found === undefined) throw new Error(`the second worker brought no ${want.for}`);
    return found;
  };
  const steps = finding(log, paddock, given.rigs, SETTINGS, clip);
  let step = steps.next();
  while (step.done !== true) {
    const { stage, send, want } = step.value;
    if (stage !== "how sure") await breath();
    sent(send);
    step = steps.next(await brought(want));
  }
  const { tally } = step.value;
  const sown = sownAgain(tally, given.rigs, clip);
  sent(sown);
  const t0_ms = log.fixes.t_ms[0] ?? 0;
  after(step.value, { log, every: log.marks, t0_ms, rigs: given.rigs, name: "", share: -1 }, { ...JOB, day_ms: t0_ms }, clip);
  whole(step.value, await brought(step.value.again));
  fetched(sown, await brought(sown));
  const thread_s = threadSeconds() - begun;
  const asked = moments.filter(({ send }) => send !== undefined);
  while (went.length < asked.length) await breath();
  const ready = new Map<Errand | undefined, number[]>();
  let [waited_s, free_s] = [0, 0];
  for (const { at_s, send, want } of moments) {
    if (send === undefined) waited_s = Math.max((ready.get(want)?.shift() ?? 0) - at_s, waited_s);
    else {
      const begins_s = Math.max(at_s + waited_s, free_s);
      const told_s = (went[asked.findIndex((one) => one.send === send)] ?? []).map((s) => begins_s + s);
      free_s = told_s.pop() ?? begins_s;
      ready.set(send, told_s);
    }
  }
  return { both_s: thread_s + waited_s, thread_s, second_s: went.reduce((sum, seconds) => sum + (seconds[seconds.length - 1] ?? 0), 0), tally };
}

/** What a page asks a worker for, as far as it matters here. */
const JOB = { unstored: [], dev: "", paddocks: [], paddock: null, lap: false, rigs: [], settings: SETTINGS, painted: null, weigh: true, prices: EXAMPLE, trip_s: 1200, rates: {} };

/** A count by two workers; `again`: where they have counted the day before at its half, as a phone does when it stands. */
async function two(path: string, again: boolean): Promise<void> {
  const given = JSON.parse(readFileSync(path, "utf8")) as Given;
  const log = logOf(given);
  const reference_s = took(reference).thread_s;
  const worker = new Worker(fileURLToPath(import.meta.url));
  worker.on("message", (seconds: readonly number[]) => went.push(seconds));
  const { port1, port2 } = new MessageChannel();
  const second = beside(port1 as unknown as MessagePort);
  // oxlint-disable-next-line unicorn/require-post-message-target-origin -- a worker has none
  worker.postMessage(port2, [port2]);
  await new Promise((done) => setTimeout(done, 300));
  if (again) await count(until(log, 0.5), given, second);
  const started = performance.now();
  const { tally, ...row } = await count(log, given, second);
  const clock_s = (performance.now() - started) / 1e3;
  const { bare_ha, bare_low_ha, bare_high_ha } = tally;
  const bare = { bare_ha, bare_low_ha, bare_high_ha };
  process.stdout.write(`${JSON.stringify({ reference_s, clock_s, ...row, bare, peak_mb: peakMb() })}\n`);
  process.exit(0);
}

/** The second worker: goes for the first, and tells what its thread had for each errand. */
function help(): void {
  parentPort?.once("message", (port: MessagePort) => {
    assist(port);
    const go = port.onmessage;
    // what is sent is unpacked before anybody hears of it, and while it rests it has no processor
    let rested_s = threadSeconds();
    let seconds: number[] = [];
    const told = (): unknown => seconds.push(threadSeconds() - rested_s);
    const tell = port.postMessage.bind(port);
    port.postMessage = (what: unknown, given: never): void => {
      // oxlint-disable-next-line unicorn/require-post-message-target-origin -- a port has none
      tell(what, given);
      told();
    };
    // oxlint-disable-next-line unicorn/prefer-add-event-listener -- it takes the other's place
    port.onmessage = (event) => {
      seconds = [];
      go?.call(port, event);
      told();
      rested_s += seconds[seconds.length - 1] ?? 0;
      // oxlint-disable-next-line unicorn/require-post-message-target-origin -- a worker has none
      parentPort?.postMessage(seconds);
    };
  });
}

/** The most memory this program held, MB: what the system's own count says began with whoever started it. */
function peakMb(): number {
  return Number(/VmHWM:\s+(\d+)/.exec(readFileSync("/proc/self/status", "utf8"))?.[1]) / 1024;
}

function main([path, how]: string[]): void {
  if (how === "two" || how === "again") {
    void two(path ?? "", how === "again");
    return;
  }
  const given = JSON.parse(readFileSync(path ?? "", "utf8")) as Given;
  const [log, paddock] = [logOf(given), paddockOf(given)];
  const clip = new Clip();
  const loop = [took(reference).thread_s];
  const stages: Record<string, number> = {};
  let [stage, since] = ["reading", threadSeconds()];
  const reach = (next: string): void => {
    const now = threadSeconds();
    stages[stage] = (stages[stage] ?? 0) + now - since;
    [stage, since] = [next, now];
  };
  const day = took(() => find(log, paddock, given.rigs, SETTINGS, clip, ({ stage: next }) => reach(next)));
  reach("done");
  const { tally } = day.made;
  const live = new LiveGrid();
  const paint = painted(tally, live);
  const first = took(() => glance(live, ringsOf(tally.ground.net)));
  loop.push(took(reference).thread_s);
  const row = {
    reference_s: Math.min(...loop),
    find_s: day.thread_s,
    stages_s: stages,
    all_s: day.all_s,
    glance_s: first.thread_s,
    paint,
    tiles: [...live.all()].length,
    bare: { bare_ha: tally.bare_ha, bare_low_ha: tally.bare_low_ha, bare_high_ha: tally.bare_high_ha },
    bare_ha: { engine: tally.bare_ha, first: first.made.bare_m2 / 1e4 },
    peak_mb: peakMb(),
    hours: tally.hours,
    net_ha: tally.net_ha,
    fixes: log.fixes.t_ms.length,
  };
  process.stdout.write(`${JSON.stringify(row)}\n`);
}

if (isMainThread) main(process.argv.slice(2));
else help();
