// Computes the day beside the page: reads the log itself, so that the page stays free, and says how far
// it is. A page that changes its mind ends the worker.
import make from "clipper2-wasm/dist/es/clipper2z.js";
import { Clip } from "../core/clip";
import { finding, type Found } from "../core/day";
import { UnsownError } from "../core/errors";
import { planeOf } from "../core/land";
import type { Log, Paddock } from "../core/words";
import { placeOf } from "../formats/place";
import { logSince } from "../keep/read";
import { Shelf } from "../keep/shelf";
import { anew, atOnce } from "./first";
import { inOrder } from "./nearest";
import { belonging, newest, since, paddockHere, rigsFor, seasonOf } from "./pick";
import type { Failure, Job, Said, Sums } from "./sums";

const SHELF = "unsown";
/** A first lap is looked for in the day that ends with the newest position, ms. */
const LAP_MS = 20 * 3_600_000;
// oxlint-disable-next-line unicorn/require-post-message-target-origin -- a worker's has none
const say = (said: Said): void => self.postMessage(said);

self.addEventListener("message", (event: MessageEvent<Job>) => {
  compute(event.data).then(
    (sums) => say({ what: "done", sums }),
    (error: unknown) => say({ what: "failed", why: failureOf(error) }),
  );
});

async function compute(job: Job): Promise<Sums> {
  const begun = Date.now();
  say({ what: "stage", stage: "reading", part: 0 });
  const module = clipper(job.wasm);
  module.catch(() => undefined); // waited for below; here only so that it is never unheard
  const all = await logSince(new Shelf(SHELF), job.since_ms, job.unstored);
  const chosen = job.lap ? null : (job.paddocks.find(({ id }) => id === job.paddock) ?? paddockHere(all.fixes, job.paddocks));
  const last_ms = all.fixes.t_ms[newest(all.fixes)] ?? Date.now();
  const log = chosen === null ? since(all, last_ms - LAP_MS) : belonging(all, chosen, seasonOf(last_ms));
  if (log === null || log.fixes.t_ms.length < 2) throw new UnsownError("no-fixes", "expected positions in the paddock, but the log has none");
  if (chosen === null && !job.lap) throw new UnsownError("no-paddock", "expected a paddock round the newest position, but there is none");
  const rigs = rigsFor(log.marks, job.rigs);
  if (rigs.length === 0) throw new UnsownError("no-rig", "expected a rig card, but there is none on this phone");
  const land: Paddock =
    chosen === null
      ? { name: "", area: null, keep_outs: job.outs, boundary: "lap", notes: [] }
      : { ...chosen.land, keep_outs: [...chosen.land.keep_outs, ...job.outs] };
  const plane = planeOf(land, log.fixes);
  const first = job.painted === null ? anew(log, land, rigs, plane) : atOnce(job.painted, land);
  if (first !== null) say({ what: "first", first });
  const clip = new Clip(await module);
  const steps = finding(log, land, rigs, job.settings, clip);
  let step = steps.next();
  while (step.done !== true) {
    say({ what: "stage", stage: step.value.stage, part: step.value.part });
    step = steps.next();
  }
  return sumsOf(step.value, log, chosen === null ? null : { id: chosen.id, name: chosen.name }, begun);
}

function sumsOf({ tally, plane }: Found, log: Log, paddock: Sums["paddock"], begun: number): Sums {
  const { ways: _ways, ground, patches, questions, runs, ...rest } = tally;
  const at = newest(log.fixes);
  const here = plane.point(log.fixes.lon_deg[at] ?? 0, log.fixes.lat_deg[at] ?? 0);
  const { net, keep_out, sown, twice, doubt, unreachable } = ground;
  return {
    paddock,
    lat0_deg: plane.lat0_deg,
    lon0_deg: plane.lon0_deg,
    tally: rest,
    ground: { net, keep_out, sown, twice, doubt, unreachable },
    patches: inOrder(
      patches.map((patch) => Object.assign({}, patch, { place: placeOf(patch.outline, net) })),
      here,
    ),
    questions,
    runs,
    here,
    until_ms: log.marks.reduce((last, { t_ms }) => Math.max(last, t_ms), log.fixes.t_ms[at] ?? 0),
    took_ms: Date.now() - begun,
  };
}

async function clipper(url: string): Promise<Awaited<ReturnType<typeof make>>> {
  const answer = await fetch(url);
  if (!answer.ok) throw new UnsownError("no-clipper", `expected the clipping module, but ${answer.status} came`, { where: url });
  return make({ wasmBinary: await answer.arrayBuffer() });
}

function failureOf(error: unknown): Failure {
  if (error instanceof UnsownError) return { code: error.code, message: error.message, hint: error.hint };
  return { code: "broken", message: error instanceof Error ? `${error.name}: ${error.message}` : String(error), hint: "" };
}
