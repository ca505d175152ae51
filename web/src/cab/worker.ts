// Computes the day beside the page: reads the log itself, so that the page stays free, and says how far
// it is. A page that changes its mind ends the worker.
import { Clip } from "../core/clip";
import { finding, type Found, whole } from "../core/day";
import { fetched } from "../core/errand";
import { UnsownError } from "../core/errors";
import { planeOf } from "../core/land";
import { thinnedRing } from "../core/rings";
import { logOf } from "../core/work";
import type { Area, Log, Paddock, Question, Rig } from "../core/words";
import { logSince } from "../keep/read";
import { Shelf } from "../keep/shelf";
import { after, sownAgain, until, type After } from "./after";
import { anew, atOnce } from "./first";
import { ABOUT } from "./gate/decided";
import { outsMarked } from "./outs/marked";
import { type Second, assist, beside } from "./second";
import { alone, belonging, namedFor, newest, ownFirst, since, paddockHere, rigsByPhone, rigsFor, seasonOf } from "./pick";
import type { Failure, Job, Said, Sums } from "./sums";

const SHELF = "unsown";
/** Ground is drawn as fine as this, a part of a pixel on any map of a paddock, m. */
const DRAWN_M = 0.3;
/** A first lap, and a clock that was set, are looked for in the day that ends with the newest entry, ms. */
const LAP_MS = 20 * 3_600_000;
// oxlint-disable-next-line unicorn/require-post-message-target-origin -- a worker's has none
const say = (said: Said): void => self.postMessage(said);

/** Begins to listen for jobs. */
export function work(): void {
  self.addEventListener("message", ({ data, ports: [port] }: MessageEvent<Job | null>) => {
    if (data === null) return assist(port as MessagePort);
    compute(data, beside(port)).then(
      (sums) => say({ what: "done", sums }),
      (error: unknown) => say({ what: "failed", why: failureOf(error) }),
    );
  });
}

async function compute(job: Job, second: Second): Promise<Sums> {
  const begun = Date.now();
  say({ what: "stage", stage: "reading", part: 0 });
  const all = ownFirst(await logSince(new Shelf(SHELF), -Infinity, job.unstored), job.dev);
  const seen = logOf(all, [job.dev], []).fixes; // another rig may be in another paddock
  const chosen = job.lap ? null : (job.paddocks.find(({ id }) => id === job.paddock) ?? paddockHere(seen.t_ms.length > 0 ? seen : all.fixes, job.paddocks));
  const last_ms = all.fixes.t_ms[newest(all.fixes)] ?? Date.now();
  const mine = chosen === null ? since(all, last_ms - LAP_MS) : belonging(all, chosen, seasonOf(last_ms));
  if (mine === null || mine.fixes.t_ms.length < 2) throw new UnsownError("no-fixes", "expected positions in the paddock, but the log has none");
  if (chosen === null && !job.lap) throw new UnsownError("no-paddock", "expected a paddock round the newest position, but there is none");
  const named = namedFor(all, mine);
  const rigs = rigsFor(named, job.rigs);
  if (rigs.length === 0) throw new UnsownError("no-rig", "expected a rig card, but there is none on this phone");
  const outs = outsMarked(all.marks);
  const said = all.marks.filter(({ kind, says }) => kind === "say" && says["about"] === ABOUT);
  const land: Paddock =
    chosen === null
      ? { name: "", area: null, keep_outs: outs, boundary: "lap", notes: [] }
      : { ...chosen.land, keep_outs: [...chosen.land.keep_outs, ...outs] };
  const paddock = chosen === null ? null : { id: chosen.id, name: chosen.name };
  const each = rigsByPhone(named, job.rigs);
  const own = alone(mine, job.dev);
  // one rig; else each phone's own; where not all have one, this one by itself
  for (const cards of each.length > 0 ? [rigs, each] : [rigs]) {
    try {
      return { ...(await count(mine, land, cards, paddock, job, second, begun)), outs, said };
    } catch (error) {
      const two = error instanceof UnsownError && (error.code === "two-rigs" || error.code === "rig-of-phone");
      if (!two || own.fixes.t_ms.length === mine.fixes.t_ms.length) throw error;
    }
  }
  const cards = rigsFor(named.filter(({ phone }) => phone === job.dev), job.rigs);
  return { ...(await count(own, land, cards, paddock, job, second, begun)), outs, said, alone: true };
}

/** The day of one paddock; a first answer is told on the way. */
async function count(log: Log, land: Paddock, rigs: readonly Rig[], paddock: Sums["paddock"], job: Job, second: Second, begun: number): Promise<Omit<Sums, "outs" | "said">> {
  const plane = planeOf(land, log.fixes);
  // with no change of the lever the movement alone must tell, as at home; what is not clear is asked
  const guessed = !log.marks.some(({ kind, says }) => kind === "lever" && (says["lever"] === "down" || says["lever"] === "up"));
  // what another rig sowed is not painted here: of several phones it is known only after cleaning
  const several = new Set(log.fixes.phone).size > 1;
  const glance = (): void => {
    const { painted } = job;
    const first = painted !== null ? atOnce(painted, land) : several ? null : anew(log, land, rigs, plane);
    if (first !== null) say({ what: "first", first });
  };
  if (!several) glance();
  const clip = new Clip();
  const steps = finding(log, land, rigs, guessed ? { ...job.settings, runs: "guess" } : job.settings, clip);
  // another rig's driver is asked on another phone
  const ours = ({ phones }: Question): boolean => phones === undefined || phones.indexOf(job.dev) >= 0;
  let step = steps.next();
  while (step.done !== true) {
    const { stage, part, questions, send, want } = step.value;
    say({ what: "stage", stage, part });
    if (several && stage === "taps" && rigs.every((rig) => (rig.phones ?? []).length === 0)) glance();
    if (questions !== undefined) say({ what: "open", open: { questions: questions.filter(ours), paddock: paddock?.id ?? null } });
    // a breath, to hear whether the second is there
    if (stage !== "how sure") await new Promise((done) => setTimeout(done));
    second.send(send);
    step = steps.next(await second.bring(want));
  }
  say({ what: "stage", stage: "the way back", part: 1 });
  const name = paddock?.name ?? "";
  const { tally: all } = step.value;
  const tally = { ...all, questions: all.questions.filter(ours) };
  const share = all.rigs.findIndex(({ phones }) => phones.indexOf(job.dev) >= 0);
  const own = share < 0 ? log : logOf(log, all.rigs[share]?.phones ?? [], log.fixes.phones);
  const sown = sownAgain(all, rigs, clip);
  second.send(sown);
  const { ha_h, ...rest } = after({ ...step.value, tally }, { log: own, every: log.marks, t0_ms: log.fixes.t_ms.reduce((least, t) => Math.min(least, t), Infinity), rigs, name, share, gates: land.gates }, job, clip);
  const { tally: full } = whole(step.value, await second.bring(step.value.again));
  const again = rest.lost && { ...fetched(sown, await second.bring(sown)), ha_h };
  return { ...sumsOf({ ...step.value, tally: { ...full, questions: tally.questions } }, own, paddock, share), ...rest, again, guessed, phones: Array.from(new Set(log.fixes.phone), (k) => log.fixes.phones[k] ?? ""), took_ms: Date.now() - begun };
}

/** As a page draws it: a day's tens of thousands of corners would hold an old phone up. */
const drawn = (area: Area): Area => area.map((polygon) => polygon.map((ring) => thinnedRing(ring, DRAWN_M)));

function sumsOf({ tally, plane }: Found, log: Log, paddock: Sums["paddock"], share: number): Omit<Sums, keyof After | "again" | "phones" | "took_ms" | "outs" | "said"> {
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
    resets: (log.resets ?? []).filter(({ t_ms }) => t_ms > until(log) - LAP_MS),
    guessed: false,
    alone: false,
    share,
  };
}

function failureOf(error: unknown): Failure {
  if (error instanceof UnsownError) return { code: error.code, message: error.message, hint: error.hint };
  return { code: "broken", message: error instanceof Error ? `${error.name}: ${error.message}` : String(error), hint: "" };
}
