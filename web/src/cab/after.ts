// What is made of a counted day, beside the page: what to go back for and the way, the handover, the bins.
// Patches keep the numbers of the count, the largest first: the same ones stand at the desk and on paper. They
// are listed in the order in which they are driven to.
import type { Aim } from "../core/aim";
import { type Back, back, gateOf, speedOf, wholeOf } from "../core/back";
import { type Lost, lostOf, theoreticalHaH } from "../core/capacity";
import { lasts } from "../core/balance";
import type { Clip } from "../core/clip";
import { hypot, order, taken } from "../core/columns";
import { type Errand, errand } from "../core/errand";
import type { Found as Day } from "../core/day";
import type { Pose } from "../core/dubins";
import { type Aboard, type Beside, type Handover, handover, notReached } from "../core/handover";
import { roundOf, seededOf } from "../core/ledger";
import { placeOf } from "../core/place";
import { areaOf } from "../core/rings";
import { spent } from "../core/spent";
import type { Gate, Log, Mark, Patch, Rig, Tally } from "../core/words";
import { type Group, side, type Worth } from "../core/worth";
import { finishOf, type Finish } from "./finish";
import { areasOf } from "./areas";
import { inOrder } from "./nearest";
import { HAZARDS, KEEP_OUT } from "./outs/marked";
import { isPeg, newest } from "./pick";
import { binsOf } from "./stock";
import type { Areas, Bin, Found, Going, Job } from "./sums";

/** A course is taken over so much way, m. */
const COURSE_M = 5;
/** A drawn way is straight between points so far apart, or is turned by so much at most, m and rad. */
const STRETCH_M = 25;
const BEND_RAD = 0.2;

type Stop = Worth["stops"][number];

export interface After {
  readonly patches: readonly Found[];
  readonly going: Going | null;
  readonly handed: Handover;
  readonly bins: readonly Bin[];
  readonly areas: Areas;
  readonly lost: Lost | null;
  /** Over all hours, hectares an hour. */
  readonly ha_h: number;
  readonly finish: Finish | null;
}

/** What tells how much was sown again and why; it is not asked for before one leaves, so another may fetch it. */
export function sownAgain({ ways, runs, settle, sown_ha, part_ha, outside_ha, bare_ha, bare_low_ha, bare_high_ha, doubt_ha, net_ha, swept_ha, down_km, ground: { net, keep_out, bare } }: Tally, rigs: readonly Rig[], clip: Clip): Errand<"waste"> {
  const day = { ways, runs, settle, sown_ha, part_ha, outside_ha, bare_ha, bare_low_ha, bare_high_ha, doubt_ha, net_ha, swept_ha, down_km, ground: { net, keep_out, bare } };
  return errand("waste", { day, rigs, whole: wholeOf(net, keep_out, clip) });
}

/**
 * This rig's log, from when the tally's seconds count (UTC ms), all rigs, the paddock's name, and which of the
 * tally's rigs this is; below nought: the only one.
 */
export interface Counted {
  readonly log: Log;
  /** What every rig's phones noted: a hazard is everybody's. */
  readonly every: readonly Mark[];
  readonly t0_ms: number;
  readonly rigs: readonly Rig[];
  readonly name: string;
  readonly share: number;
  readonly gates?: readonly Gate[] | undefined;
}

/** What of a tally one of several rigs did; the ground stays that of all. */
function ofRig(tally: Tally, share: number): Tally {
  const rig = tally.rigs[share];
  if (rig === undefined) return tally;
  const runs = tally.runs.filter(({ outfit }) => outfit === share);
  const ways = tally.ways.filter(({ phone }) => rig.phones.indexOf(phone) >= 0);
  const [down_km, swept_ha] = [ways.reduce((sum, way) => sum + way.length_m / 1e3, 0), ways.reduce((sum, way) => sum + (way.length_m * way.width_m) / 1e4, 0)];
  return { ...tally, runs, ways, down_km, swept_ha };
}

export function after({ tally: all, plane }: Day, { log, every, t0_ms, rigs, name, share, gates = [] }: Counted, job: Job, clip: Clip): After {
  const tally = ofRig(all, share);
  const rig = rigs[tally.runs[tally.runs.length - 1]?.rig ?? rigs.length - 1];
  const { net, keep_out } = tally.ground;
  const [x_m, y_m] = plane.toXy(log.fixes.lon_deg, log.fixes.lat_deg);
  const standing = standingAt(log, x_m, y_m, rig);
  const rows = order(log.fixes.t_ms);
  const set = gates.map(({ lon_deg, lat_deg }) => plane.point(lon_deg, lat_deg));
  const gate = gateOf([...net, ...keep_out], taken(x_m, rows), taken(y_m, rows), set);
  const found = !job.weigh ? null : back({ ...tally, ways: all.ways }, rigs, job.prices, gate, job.trip_s, standing, clip);
  const patches = driven(tally.patches, found, standing ?? [0, 0, 0]).map((patch): Found => Object.assign({}, patch, { place: placeOf(patch.outline, net) }));
  const { marks } = log;
  const width_m = rig?.tool.width_m ?? 1;
  const seeded = seededOf(tally.ways);
  const bins = binsOf({ marks, seeded, round_m: roundOf(tally.ways), width_m, rates: job.rates, t0_ms, until_ms: until(log) });
  const going = found === null ? null : goingOf(found, bins, width_m, gates.length > 0);
  const told = besideOf(every, marks, name, bins, going, patches, rig, job.day_ms);
  const areas = areasOf(log, tally, bins, job.rates, t0_ms);
  const lost = lostIn({ ...tally, sown_ha: all.rigs[share]?.sown_ha ?? all.sown_ha }, log, { rows, x_m, y_m }, { t0_ms, day_ms: job.day_ms, width_m });
  const ha_h = lost === null ? 0 : lost.efficiency * theoreticalHaH(width_m, speedOf(tally) * 3.6);
  const rest_m2 = notReached(tally.patches, areaOf(net)).reduce((sum, { area_m2 }) => sum + area_m2, 0);
  const finish = finishOf(rest_m2 / 1e4, all.sown_ha, share < 0 ? seeded : seededOf(all.ways));
  return { patches, going, bins, areas, lost, ha_h, finish, handed: handover({ ...tally, patches }, plane, t0_ms, until(log), told) };
}

/** Where the hours of every day in the paddock went. */
function lostIn(tally: Tally, { fixes, marks }: Log, { rows, x_m, y_m }: { rows: Int32Array; x_m: Float64Array; y_m: Float64Array }, { t0_ms, day_ms, width_m }: { t0_ms: number; day_ms: number; width_m: number }): Lost | null {
  const runs = tally.runs.filter(({ down_s, up_s }) => up_s > down_s).map(({ down_s, up_s }) => [down_s, up_s] as const);
  const days = new Map<number, readonly [number, number]>();
  for (const [down, up] of runs) {
    const day = Math.floor((t0_ms + down * 1000 - day_ms) / DAY_MS);
    const [first, last] = days.get(day) ?? [down, up];
    days.set(day, [Math.min(first, down), Math.max(last, up)]);
  }
  if (runs.length === 0 || tally.sown_ha <= 0) return null;
  const t_s = taken(fixes.t_ms, rows).map((t) => (t - t0_ms) / 1000);
  const fills_s = marks.filter(({ kind }) => kind === "fill").map(({ t_ms }) => (t_ms - t0_ms) / 1000);
  const hours = spent(t_s, taken(x_m, rows), taken(y_m, rows), runs, fills_s, Array.from(days.values()));
  return lostOf(hours, tally.sown_ha, theoreticalHaH(width_m, speedOf(tally) * 3.6));
}

const DAY_MS = 86_400_000;

/** When the newest entry was made, UTC ms. */
export function until({ fixes, marks }: Log): number {
  const last = fixes.t_ms[newest(fixes)] ?? -Infinity;
  return marks.reduce((most, { t_ms }) => Math.max(most, t_ms), last);
}

/** The rear axle at the newest position, by the way that led there; null: it never moved. */
function standingAt({ fixes }: Log, x_m: Float64Array, y_m: Float64Array, rig: Rig | undefined): Pose | null {
  const at = newest(fixes);
  if (at < 0 || rig === undefined) return null;
  const [x, y] = [x_m[at] ?? 0, y_m[at] ?? 0];
  for (let i = at - 1; i >= 0; i--) {
    const [dx, dy] = [x - (x_m[i] ?? Number.NaN), y - (y_m[i] ?? Number.NaN)];
    if (!(hypot(dx, dy) >= COURSE_M) || fixes.phone[i] !== fixes.phone[at]) continue;
    const h = Math.atan2(dy, dx);
    const { ahead_of_axle_m: ahead, left_of_centre_m: left } = rig.phone;
    return [x - ahead * Math.cos(h) + left * Math.sin(h), y - ahead * Math.sin(h) - left * Math.cos(h), h];
  }
  return null;
}

/** In the order of the way, then always the nearest one next. */
function driven(patches: readonly Patch[], found: Back | null, from: Pose): Patch[] {
  const first = new Set<number>();
  let [x, y] = [from[0], from[1]];
  for (const { run } of found?.now.stops ?? []) {
    run.covers.forEach((_, number) => first.add(number));
    [x, y] = run.end;
  }
  const onWay = Array.from(first, (number) => patches.find((patch) => patch.number === number) as Patch);
  return onWay.concat(inOrder(patches.filter(({ number }) => !first.has(number)), [x, y]));
}

function goingOf({ now, later }: Back, bins: readonly Bin[], width_m: number, gate_set: boolean): Going {
  const named = (numbers: Iterable<number>): number[] => Array.from(numbers).sort((a, b) => a - b);
  const { poses, tool_down } = now.route;
  const way: number[] = [];
  const down: number[] = [];
  for (let i = 0; i < tool_down.length; i++) {
    const [x, y, h] = [poses[3 * i] ?? 0, poses[3 * i + 1] ?? 0, poses[3 * i + 2] ?? 0];
    const [px, py, ph] = way.slice(-3) as [number, number, number];
    const turned = Math.abs(Math.sin((h - ph) / 2)) * 2 > BEND_RAD || hypot(x - px, y - py) > STRETCH_M;
    if (i > 0 && i < tool_down.length - 1 && !turned && tool_down[i] === tool_down[i - 1]) continue;
    way.push(x, y, h);
    down.push(tool_down[i] ?? 0);
  }
  const flat = Float64Array.from({ length: 2 * down.length }, (_, k) => way[3 * (k >> 1) + (k & 1)] ?? 0);
  return {
    groups: now.groups.map(({ patches, label, value, cost, seconds, left_m2, runs }) => ({ patches: named(patches), label, value, cost, seconds, left_m2, runs: runs.length })),
    stops: blocks(now.stops.map(({ group }) => group)).map((block) => {
      const stops = block.map((at) => now.stops[at] as Stop);
      const runs = stops.map(({ run }) => run);
      const covered = new Set(runs.reduce<number[]>((all, { covers }) => all.concat(Array.from(covers.keys())), []));
      const [first] = runs as [Aim];
      return { patches: named(covered), from: side(first.heading_rad), length_m: runs.reduce((sum, run) => sum + run.length_m, 0), runs: runs.length, ask: named(new Set(stops.reduce<number[]>((all, { group }) => all.concat(askedOf(now.groups[group])), []))) };
    }),
    way: flat,
    tool_down: Uint8Array.from(down),
    seconds: now.seconds,
    sure_s: now.sure_s,
    gate_set,
    net: now.net,
    blocked: now.route.blocked,
    later: later.stops.length === 0 || later.net <= 0 ? null : later.net,
    lasting: now.stops.length === 0 ? [] : bins.reduce<Going["lasting"]>((all, bin) => all.concat(lastingOf(bin, now, width_m)), []),
  };
}

const askedOf = (group: Group | undefined): readonly number[] => (group?.label === "ask first" ? group.patches : []);

/** Whether a product lasts for the way; fuel is no question of so few runs. */
function lastingOf({ product, left }: Bin, { stops }: Worth, width_m: number): Going["lasting"] {
  if (left === null || product === "fuel") return [];
  const found = lasts(left, stops.map(({ run }) => run.length_m), width_m);
  const stop = blocks(stops.map(({ group }) => group)).findIndex((block) => block.indexOf(found.at) >= 0) + 1;
  return [{ ...found, product, ha: Math.max(left.ha, 0), stop }];
}

/** Stops that are told as one, as places in the list: those of one group, or of two in turn. */
export function blocks(groups: readonly number[]): number[][] {
  const out: number[][] = [];
  groups.forEach((group, k) => {
    const last = out[out.length - 1];
    const held = new Set((last ?? []).map((at) => groups[at]));
    const turns = held.size === 1 && held.has(groups[k + 1]);
    if (last !== undefined && (held.has(group) || turns)) last.push(k);
    else out.push([k]);
  });
  return out;
}

const aboardOf = ({ product, unit, left, rounds: many }: Bin): Aboard[] =>
  left === null ? [] : [{ product, unit, amount: left.kg, ha: left.ha, ha_sigma: left.ha_sigma, rounds: many }];

function besideOf(every: readonly Mark[], own: readonly Mark[], paddock: string, bins: readonly Bin[], going: Going | null, patches: readonly Found[], rig: Rig | undefined, day_ms: number): Beside {
  const today = every.filter(({ kind, t_ms }) => kind === "mark" && t_ms >= day_ms);
  const what = (mark: Mark): string => String(mark.says["what"] ?? "");
  const outs = today.filter(({ says }) => says["note"] === KEEP_OUT);
  const pegs = every.filter(isPeg);
  const shifts = own.filter(({ kind, says }) => kind === "shift" && says["shift"] === "start" && typeof says["driver"] === "string");
  const last = shifts.reduce<Mark | null>((late, mark) => (late === null || mark.t_ms >= late.t_ms ? mark : late), null);
  const labels = new Map<number, string>();
  for (const { number } of patches) {
    const group = going?.groups.find((each) => each.patches.indexOf(number) >= 0);
    if (group !== undefined) labels.set(number, group.label);
  }
  return {
    paddock,
    aboard: bins.reduce<Aboard[]>((all, bin) => all.concat(aboardOf(bin)), []),
    hazards: outs.map(what).filter((kind) => HAZARDS.indexOf(kind) >= 0),
    outs: outs.map(what).filter((kind) => HAZARDS.indexOf(kind) < 0),
    pegs: Array.from(new Set(pegs.map(({ says }) => String(says["name"])))),
    machine: [rig?.name ?? "", ...today.filter((mark) => what(mark) === "strain" && own.indexOf(mark) >= 0).map(() => "strain")].filter((part) => part !== ""),
    driver: last === null ? "" : String(last.says["driver"]),
    labels: going === null ? null : labels,
    minutes: going === null || going.stops.length === 0 ? null : going.sure_s / 60,
  };
}
