// The whole engine on one page: log + paddock + rig -> tally.
import {
  type Shape,
  Surroundings,
  boundingRuns,
  callOf,
  inside,
  parted,
  patches,
  stripChance,
} from "./bare";
import { within } from "./apart";
import type { Seam } from "./between";
import { Chance } from "./chance";
import type { Clip } from "./clip";
import { type Strip, ground } from "./cover";
import { type Brought, type Errand, errand, fetched } from "./errand";
import { UnsownError } from "./errors";
import { spacing } from "./fit";
import { hanging } from "./hangs";
import { oneClock } from "./join";
import { type Land, drivenLap, landOf, planeOf } from "./land";
import type { Lap } from "./lap";
import { type Leg, legsOf } from "./legs";
import { type Picture, type Stretch, gapOf } from "./picture";
import type { Plane } from "./plane";
import { areaOf, ringsOf } from "./rings";
import { SAMPLE_M } from "./samples";
import { shares } from "./shares";
import { stretchesOf, stripsOf } from "./strips";
import { type Sure, bandOf, bestOf, countDraws, nearer } from "./sure";
import { type Settling, settlings, together } from "./together";
import type {
  Ground,
  Log,
  Paddock,
  Patch,
  Question,
  Rig,
  Ring,
  Run,
  Settings,
  Tally,
  Way,
} from "./words";
import { type Work, workOf } from "./work";

/** What is being done, and the part of the whole that is done, 0 to 1. */
export interface Stage {
  readonly stage: string;
  readonly part: number;
  /** What is asked of the driver, as soon as it is known. */
  readonly questions?: readonly Question[];
  /** What somebody else may be sent for meanwhile. */
  readonly send?: Errand | undefined;
  /** What is wanted now of what somebody was sent for: it may be handed in, else it is made here. */
  readonly want?: Errand | undefined;
}

/** The tally, and the plane its shapes lie on. */
export interface Found {
  readonly tally: Tally;
  readonly plane: Plane;
}

/** All but what was sown twice, which is `again`: what to go back for needs none of it. */
export interface Counted extends Found {
  readonly again: Errand<"twice">;
}

/** With what was sown twice, brought or made here. */
export function whole({ tally, plane, again }: Counted, brought?: Brought): Found {
  const { twice, again_m2 } = fetched(again, brought as Brought<"twice">);
  return { tally: { ...tally, twice_ha: areaOf(twice) / 1e4, again_ha: again_m2 / 1e4, ground: { ...tally.ground, twice } }, plane };
}

/**
 * Computes one day, stage by stage; between two stages the caller may report, breathe, or drop it. What is
 * wanted at a stage it may hand in, made elsewhere.
 *
 * `paddock.area` null takes the boundary from the first lap.
 *
 * Throws UnsownError: `track-empty`, `track-unusable` or `no-lever` where the log holds too little,
 * `track-elsewhere`, `two-rigs`, `rig-of-phone`, `lap-none` or `lap-open` where log, paddock and rig do not fit
 * together.
 */
export function* finding(
  given: Log,
  paddock: Paddock,
  rigs: readonly Rig[],
  settings: Settings,
  clip: Clip,
): Generator<Stage, Counted, Brought | undefined> {
  const { fixes: raw } = given;
  if (raw.t_ms.length < 2) {
    throw new UnsownError(
      "track-empty",
      `expected a track of positions with times, but it has ${raw.t_ms.length}`,
      { hint: "Check that the log holds the day that was sown." },
    );
  }
  const plane = planeOf(paddock, raw);
  const t0_ms = raw.t_ms.reduce((least, t) => Math.min(least, t), Infinity);
  yield { stage: "cleaning", part: 0.05 };
  const { log, clocks } = oneClock(given, plane);
  const { legs, dropped } = legsOf(log.fixes, plane, rigs, t0_ms);
  const last_s = Math.max(...legs.map(({ track }) => track.t_s[track.t_s.length - 1]));
  const now_ms = t0_ms + Math.round(1000 * last_s);
  const place = (lap: Lap | null): Land =>
    landOf(clip, paddock, plane, now_ms, lap);
  const worked = (fence?: readonly Ring[] | null): Work =>
    workOf(log, legs, rigs, settings, fence, plane, t0_ms);
  const known = paddock.area && place(null);
  const stretchesIn = ({ runs, bridged }: Work): Stretch[] => stretchesOf(legs, runs, rigs, bridged);
  const toSettle = (stretches: readonly Stretch[]): Settling[] =>
    settlings(stretches, log, legs, known && known.surveyed, settings, plane, t0_ms);
  // mostly the runs are as they were tapped: that is settled while it is looked at
  const tapped = worked();
  const [asTapped, other] = toSettle(stretchesIn(tapped));
  const settle = other === undefined ? errand("settle", { of: asTapped, draws: settings.draws, seed: settings.seed }) : undefined;
  yield { stage: "taps", part: 0.2, send: settle };
  const work = worked(known && clip.difference(known.boundary, known.keepOut));
  const land = known ?? place(drivenLap(clip, legs, work.runs, rigs, settings.clearance_m));
  const { runs, bridged } = work;
  const stretches = stretchesIn(work);
  const same = JSON.stringify([runs, bridged]) === JSON.stringify([tapped.runs, tapped.bridged]);
  yield { stage: "settling", part: 0.3, questions: work.questions };
  // while it is settled
  const misfit = spacing(stretches);
  const day = yield { stage: "settling", part: 0.3, want: same ? settle : undefined };
  const { picture, seams, of } = together(toSettle(stretches), log, legs, settings, plane, day as Brought<"settle">);
  const drawing = of && of.draws > 0 ? errand("draws", of) : undefined;
  // who settled it draws it too
  const drawer = drawing && day ? settle : drawing;
  yield { stage: "sweeping", part: 0.5, send: day ? undefined : drawing };
  const strips = stripsOf(picture, legs, runs, rigs, bridged);
  const { once: states, runs: covers } = ground(clip, strips, land.boundary, land.keepOut, land.unreachable);
  const again = errand("twice", { strips, once: states, covers });
  yield { stage: "patches", part: 0.6, send: again };
  const width_m = stretches.length === 0 ? 1 : Math.max(...stretches.map((x) => x.width_m));
  const shapes = parted(clip, patches(clip, states.bare), width_m);
  const gap = gapOf(picture);
  const wanted = {
    net: states.net,
    aside: clip.union([...ringsOf(states.doubt), ...ringsOf(states.unreachable)]),
    bare_m2: areaOf(states.bare),
    patches: shapes.map((shape) => shape.outline),
    vague: nearer(clip, states.doubt, picture),
    most: shapes.map((shape) => stripChance(shape, gapIn(shape, gap, seams, width_m), width_m)),
  };
  const [east_draws, north_draws] = [picture.east_draws.slice(), picture.north_draws.slice()];
  const counting = countDraws({ ...wanted, picture: { ...picture, east_draws, north_draws }, draws: settings.draws }, new Chance(settings.seed));
  let count: IteratorResult<number, Sure> = { value: 0 };
  do {
    // counted as they come
    const want = count.value === east_draws.length && count.value < settings.draws ? drawer : undefined;
    const some = yield { stage: count.value === 0 ? "draws" : "how sure", part: 0.6 + (0.4 * count.value) / (settings.draws || 1), want };
    if (want !== undefined && drawing !== undefined) {
      const from = some === undefined ? east_draws.length : 0;
      const more = fetched(drawing, some as Brought<"draws">);
      east_draws.push(...more.east_draws.slice(from));
      north_draws.push(...more.north_draws.slice(from));
    }
    count = counting.next();
  } while (count.done !== true);
  const sure = count.value;
  const around = new Surroundings(clip, clip.polygons(land.boundary), states.keep_out, strips);
  const found = hanging(patchesOf(shapes, sure, around, strips, runs, plane), states.doubt, strips, runs, work.questions, t0_ms, legs);
  const ways = waysOf(picture, legs, runs);
  const sides = seams.map((seam) => seam.told);
  const sums = { strips, found, sure, settle: picture.info, dropped, ways, rigs: shares(clip, strips, runs, legs, rigs, states.net), between: sides, clocks, misfit };
  return { tally: tallyOf({ ...states, twice: [] }, work, sums), plane, again };
}

/** Computes one day in one go; `tell` hears every stage. */
export function find(
  log: Log,
  paddock: Paddock,
  rigs: readonly Rig[],
  settings: Settings,
  clip: Clip,
  tell: (stage: Stage) => void = () => undefined,
): Found {
  const days = finding(log, paddock, rigs, settings, clip);
  let step = days.next();
  while (step.done !== true) {
    tell(step.value);
    step = days.next();
  }
  return whole(step.value);
}

/** The constant gap, one sigma, that drift alone leaves along a patch, or two rigs' offset. */
function gapIn({ outline, length_m }: Shape, gapOver: (length_m: number) => number, seams: readonly Seam[], width_m: number): number {
  let gap = gapOver(length_m);
  for (const { told, x_m, y_m } of seams) {
    const near = x_m.filter((x, i) => within(outline, [Float64Array.of(x, y_m[i])], width_m));
    if (near.length * SAMPLE_M > 0.5 * length_m) gap = Math.max(gap, told.sigma_m);
  }
  return gap;
}

/** Where the tool's middle went, stretch by stretch as settled. */
function waysOf(picture: Picture, legs: readonly Leg[], runs: readonly Run[]): Way[] {
  return [...picture.stretches]
    .sort((a, b) => a.run - b.run || a.poses.t_s[0] - b.poses.t_s[0])
    .map((stretch) => {
      const { t_s, x_m, y_m, heading_rad, path_m } = stretch.poses;
      const ahead = (stretch.front_m + stretch.rear_m) / 2;
      return {
        run: runs[stretch.run].number,
        phone: legs[stretch.leg].phone,
        width_m: stretch.width_m,
        length_m: path_m[path_m.length - 1] - path_m[0],
        t_s,
        x_m: x_m.map((x, i) => x + ahead * Math.cos(heading_rad[i])),
        y_m: y_m.map((y, i) => y + ahead * Math.sin(heading_rad[i])),
        heading_rad,
      };
    });
}

/** The bare patches with their kind, place, bounding runs and chance. */
function patchesOf(
  shapes: readonly Shape[],
  sure: Sure,
  around: Surroundings,
  strips: readonly Strip[],
  runs: readonly Run[],
  plane: Plane,
): Patch[] {
  const bounds = boundingRuns(
    shapes.map((shape) => shape.outline),
    strips,
  );
  return shapes.map((shape, i) => {
    const { outline, area_m2, width_m, length_m } = shape;
    const chance = sure.chances[i];
    const [lon_deg, lat_deg] = plane.degrees(...inside(outline));
    return {
      number: i + 1,
      outline,
      area_m2,
      width_m,
      length_m,
      kind: around.kindOf(shape),
      chance,
      call: callOf(chance),
      lon_deg,
      lat_deg,
      runs: bounds[i].map((j) => runs[j].number),
    };
  });
}

interface Sums {
  readonly strips: readonly Strip[];
  readonly found: readonly Patch[];
  readonly sure: Sure;
  readonly settle: Tally["settle"];
  readonly dropped: Tally["dropped"];
  readonly ways: Tally["ways"];
  readonly rigs: Tally["rigs"];
  readonly between: Tally["between"];
  readonly clocks: Tally["clocks"];
  readonly misfit: Tally["misfit"];
}

function tallyOf(states: Ground, work: Work, sums: Sums): Tally {
  const { strips, found, sure } = sums;
  const ha = (name: keyof Ground): number => areaOf(states[name]) / 1e4;
  const worked = work.runs.filter((run) => run.up_s > run.down_s);
  const first = worked[0];
  const last = worked[worked.length - 1];
  const hours = first && last ? (last.up_s - first.down_s) / 3600 : 0;
  const [sown, asPicture] = [ha("sown"), ha("bare")];
  let [bare, low, high] = [asPicture, asPicture, asPicture];
  if (sure.bare_m2.length > 0) {
    bare = Math.min(bestOf(sure) / 1e4, asPicture + sown);
    [low, high] = bandOf(sure).map((m2) => m2 / 1e4) as [number, number];
  }
  high += work.hidden_m2 / 1e4;
  const total = (of: (strip: Strip) => number): number => strips.reduce((sum, s) => sum + of(s), 0);
  return {
    net_ha: ha("net"),
    keep_out_ha: ha("keep_out"),
    sown_ha: sown + asPicture - bare,
    part_ha: ha("part"),
    bare_ha: bare,
    bare_low_ha: Math.min(low, bare),
    bare_high_ha: Math.max(high, bare),
    listed_ha:
      found.reduce((sum, p) => sum + (p.call === "can't tell" ? 0 : p.area_m2), 0) / 1e4,
    twice_ha: ha("twice"),
    again_ha: 0,
    doubt_ha: ha("doubt"),
    unreachable_ha: ha("unreachable"),
    outside_ha: ha("outside"),
    swept_ha: total((s) => s.way_m * s.width_m) / 1e4,
    down_km: total((s) => s.way_m) / 1000,
    hours,
    patches: found,
    questions: work.questions,
    runs: work.runs,
    ground: states,
    dropped: sums.dropped,
    settle: sums.settle,
    ways: sums.ways,
    rigs: sums.rigs,
    between: sums.between,
    clocks: sums.clocks,
    misfit: sums.misfit,
  };
}
