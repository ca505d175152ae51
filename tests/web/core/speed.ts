// How fast the phone's engine is under Node, in a process of its own as a worker begins:
//
//     node speed.mjs day.json > one line of JSON
//     node speed.mjs day.json two > the same count with a second worker beside it
import { readFileSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { MessageChannel, Worker, isMainThread, parentPort, workerData } from "node:worker_threads";
import { assist, beside } from "../../../web/src/cab/second";
import { Clip } from "../../../web/src/core/clip";
import { quantile } from "../../../web/src/core/columns";
import { find, finding } from "../../../web/src/core/day";
import { glance } from "../../../web/src/core/glance";
import { LiveGrid, quadsAlong } from "../../../web/src/core/grid";
import { ringsOf } from "../../../web/src/core/rings";
import { SETTINGS, type Tally } from "../../../web/src/core/words";
import { type Given, logOf, paddockOf } from "./given";

/**
 * Seconds that this thread had the processor: neither a busy machine nor Node's own helpers, which compile
 * and collect beside it, show. Linux tells it in hundredths.
 */
function threadSeconds(): number {
  const told = readFileSync("/proc/thread-self/stat", "utf8");
  const columns = told.slice(told.lastIndexOf(")") + 2).split(" ");
  return (Number(columns[11]) + Number(columns[12])) / 100;
}

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

/** The count as a phone with several cores makes it: seconds by the clock, and of each worker's thread. */
async function two(path: string): Promise<void> {
  const given = JSON.parse(readFileSync(path, "utf8")) as Given;
  const [log, paddock] = [logOf(given), paddockOf(given)];
  const reference_s = took(reference).thread_s;
  const { port1, port2 } = new MessageChannel();
  const [started, used] = [performance.now(), threadSeconds()];
  const worker = new Worker(fileURLToPath(import.meta.url), { workerData: port2, transferList: [port2] });
  const second_s = new Promise<number>((done) => worker.on("message", done));
  const second = beside(port1 as unknown as MessagePort);
  const steps = finding(log, paddock, given.rigs, SETTINGS, new Clip());
  let waited_s = Number.NaN;
  let helped = false;
  let between_s = 0;
  let step = steps.next();
  while (step.done !== true) {
    const { stage, drawing } = step.value;
    if (stage !== "how sure") await new Promise((done) => setTimeout(done));
    let draws;
    if (drawing !== undefined && stage === "draws") {
      const since = performance.now();
      draws = await second.draws(drawing);
      [waited_s, helped] = [(performance.now() - since) / 1e3, draws !== undefined];
      between_s += threadSeconds();
    } else if (drawing !== undefined) {
      second.begin(drawing);
      between_s -= threadSeconds();
    }
    step = steps.next(draws);
  }
  const [clock_s, thread_s] = [(performance.now() - started) / 1e3, threadSeconds() - used];
  const { bare_ha, bare_low_ha, bare_high_ha } = step.value.tally;
  const bare = { bare_ha, bare_low_ha, bare_high_ha };
  const row = { reference_s, clock_s, thread_s, second_s: helped ? await second_s : 0, waited_s, between_s, helped, bare };
  process.stdout.write(`${JSON.stringify({ ...row, peak_mb: peakMb() })}\n`);
  process.exit(0);
}

/** The most memory this program held, MB: what the system's own count says began with whoever started it. */
function peakMb(): number {
  return Number(/VmHWM:\s+(\d+)/.exec(readFileSync("/proc/self/status", "utf8"))?.[1]) / 1024;
}

function main([path, how]: string[]): void {
  if (how === "two") {
    void two(path ?? "");
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
// oxlint-disable-next-line unicorn/require-post-message-target-origin -- a port has none
else assist(workerData as MessagePort, () => parentPort?.postMessage(threadSeconds()));
