// Computes the day beside the page: reads the log itself, so that the page stays free, and says how far
// it is. A page that changes its mind ends the worker.
import { Clip } from "../core/clip";
import { finding, type Found } from "../core/day";
import { UnsownError } from "../core/errors";
import { planeOf } from "../core/land";
import { thinnedRing } from "../core/rings";
import type { Area, Log, Paddock, Rig } from "../core/words";
import { logSince } from "../keep/read";
import { Shelf } from "../keep/shelf";
import { after, until, type After } from "./after";
import { anew, atOnce } from "./first";
import { alone, belonging, newest, since, paddockHere, rigsFor, seasonOf } from "./pick";
import type { Failure, Job, Said, Sums } from "./sums";

const SHELF = "unsown";
/** Ground is drawn as fine as this, a part of a pixel on any map of a paddock, m. */
const DRAWN_M = 0.3;
/** A first lap is looked for in the day that ends with the newest position, ms. */
const LAP_MS = 20 * 3_600_000;
// oxlint-disable-next-line unicorn/require-post-message-target-origin -- a worker's has none
const say = (said: Said): void => self.postMessage(said);

/** Begins to listen for jobs. */
export function work(): void {
  self.addEventListener("message", (event: MessageEvent<Job>) => {
    compute(event.data).then(
      (sums) => say({ what: "done", sums }),
      (error: unknown) => say({ what: "failed", why: failureOf(error) }),
    );
  });
}

async function compute(job: Job): Promise<Sums> {
  const begun = Date.now();
  say({ what: "stage", stage: "reading", part: 0 });
  const all = await logSince(new Shelf(SHELF), job.since_ms, job.unstored);
  const chosen = job.lap ? null : (job.paddocks.find(({ id }) => id === job.paddock) ?? paddockHere(all.fixes, job.paddocks));
  const last_ms = all.fixes.t_ms[newest(all.fixes)] ?? Date.now();
  const mine = chosen === null ? since(all, last_ms - LAP_MS) : belonging(all, chosen, seasonOf(last_ms));
  if (mine === null || mine.fixes.t_ms.length < 2) throw new UnsownError("no-fixes", "expected positions in the paddock, but the log has none");
  if (chosen === null && !job.lap) throw new UnsownError("no-paddock", "expected a paddock round the newest position, but there is none");
  const rigs = rigsFor(mine.marks, job.rigs);
  if (rigs.length === 0) throw new UnsownError("no-rig", "expected a rig card, but there is none on this phone");
  const land: Paddock =
    chosen === null
      ? { name: "", area: null, keep_outs: job.outs, boundary: "lap", notes: [] }
      : { ...chosen.land, keep_outs: [...chosen.land.keep_outs, ...job.outs] };
  const paddock = chosen === null ? null : { id: chosen.id, name: chosen.name };
  try {
    return count(mine, land, rigs, paddock, job, begun);
  } catch (error) {
    const own = alone(mine, job.dev);
    const two = error instanceof UnsownError && error.code === "two-rigs";
    if (!two || own.fixes.t_ms.length === mine.fixes.t_ms.length) throw error;
    return { ...count(own, land, rigs, paddock, job, begun), alone: true };
  }
}

/** The day of one paddock; a first answer is told on the way. */
function count(log: Log, land: Paddock, rigs: readonly Rig[], paddock: Sums["paddock"], job: Job, begun: number): Sums {
  const plane = planeOf(land, log.fixes);
  // with no change of the lever the movement alone must tell, as at home; what is not clear is asked
  const guessed = !log.marks.some(({ kind, says }) => kind === "lever" && (says["lever"] === "down" || says["lever"] === "up"));
  const first = job.painted === null ? anew(log, land, rigs, plane) : atOnce(job.painted, land);
  if (first !== null) say({ what: "first", first });
  const clip = new Clip();
  const steps = finding(log, land, rigs, guessed ? { ...job.settings, runs: "guess" } : job.settings, clip);
  let step = steps.next();
  while (step.done !== true) {
    const { stage, part, questions } = step.value;
    say({ what: "stage", stage, part });
    if (questions !== undefined) say({ what: "open", open: { questions, paddock: paddock?.id ?? null } });
    step = steps.next();
  }
  say({ what: "stage", stage: "the way back", part: 1 });
  const name = paddock?.name ?? "";
  return { ...sumsOf(step.value, log, paddock), ...after(step.value, { log, rigs, name }, job, clip), guessed, took_ms: Date.now() - begun };
}

/** As a page draws it: a day's tens of thousands of corners would hold an old phone up. */
const drawn = (area: Area): Area => area.map((polygon) => polygon.map((ring) => thinnedRing(ring, DRAWN_M)));

function sumsOf({ tally, plane }: Found, log: Log, paddock: Sums["paddock"]): Omit<Sums, keyof After | "took_ms"> {
  const { ways: _ways, ground, patches: _patches, questions, runs, ...rest } = tally;
  const at = newest(log.fixes);
  const here = plane.point(log.fixes.lon_deg[at] ?? 0, log.fixes.lat_deg[at] ?? 0);
  const { net, keep_out, sown, twice, doubt, unreachable } = ground;
  return {
    paddock,
    lat0_deg: plane.lat0_deg,
    lon0_deg: plane.lon0_deg,
    tally: rest,
    ground: { net: drawn(net), keep_out: drawn(keep_out), sown: drawn(sown), twice: drawn(twice), doubt: drawn(doubt), unreachable: drawn(unreachable) },
    questions,
    runs,
    here,
    until_ms: until(log),
    guessed: false,
    alone: false,
  };
}

function failureOf(error: unknown): Failure {
  if (error instanceof UnsownError) return { code: error.code, message: error.message, hint: error.hint };
  return { code: "broken", message: error instanceof Error ? `${error.name}: ${error.message}` : String(error), hint: "" };
}
