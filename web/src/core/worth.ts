// Which bare patches repay the trip, and in what order to drive them.
//
// Value is the crop that a patch would still bear; cost is the ground sown twice on the way, the time and the
// fuel. *worth it* is more than a small sum to the good, *your call* about nothing, *leave* less; *look first*
// where nobody can tell whether the patch is there, but a look is cheap beside what it may hold; *ask first* where
// it repays only if an open answer leaves it bare. It knows no slopes, wires or soft ground: those are the
// driver's to judge.
import { type Aim, type Field, type Plan, type Reach, type Some, plans } from "./aim";
import type { Clip } from "./clip";
import type { Pose } from "./dubins";
import { toward } from "./handover";
import { mayClose } from "./hangs";
import { costsAmong, order, totalOf, withOne } from "./order";
import { type Prices, bareHa, seedAndFertiliser } from "./price";
import { Room } from "./room";
import { BLOCKED_M, type Legs, type Route, blockedOf, costsOf, looked, route } from "./ways";
import type { Ring } from "./words";

export type Label = "worth it" | "ask first" | "your call" | "leave" | "look first";

/** More to the good than this is worth it, money; a chance below this wants a look first. */
const CALL = 3;
const CHANCE = 0.6;
/** A look at one place takes this long, and lifting or lowering once, s. */
export const LOOK_S = 60;
export const LEVER_S = 3;
/** Ways round what blocks are looked for so many times. */
const LOOKS = 12;
/** What stands on an edge counts as inside, m. */
const EDGE_M = 0.01;

/**
 * Where one is and goes, and how. `start` and `gate` are the tractor's rear axle, metres on the plane;
 * `speed_m_s` the working speed, also taken for turning. `road_s` is what coming back from outside costs.
 */
export interface Circumstances {
  readonly start: Pose;
  readonly gate: readonly [number, number];
  readonly speed_m_s: number;
  readonly road_s: number;
}

/**
 * Patches finished together: by what runs, what that is worth and costs, and the label. `seconds` is the time
 * it adds to the way; `left_m2` bare ground of its patches that no run reaches.
 */
export interface Group {
  readonly patches: readonly number[];
  readonly runs: readonly Aim[];
  readonly value: number;
  readonly cost: number;
  readonly seconds: number;
  readonly twice_m2: number;
  readonly left_m2: number;
  readonly label: Label;
}

/**
 * What to go back for: groups with their labels, and the way through those worth it. `stops` are places in
 * `groups`, in driving order, with the run driven; `net` is what all of it is worth less what it costs, the
 * road included. Where that does not repay the road there are no stops and no group is worth it; `route`,
 * `seconds` and `net` tell what it would be. `sure_s` is the time without the stops to be asked about first.
 */
export interface Worth {
  readonly groups: readonly Group[];
  readonly stops: readonly { readonly group: number; readonly run: Aim }[];
  readonly route: Route;
  readonly seconds: number;
  readonly net: number;
  readonly sure_s: number;
}

type By = ReadonlyMap<number, Some>;

export const netOf = (g: Group): number => g.value - g.cost;

/** Value, cost and label of every patch, and the way through those that repay it. */
export function worth(patches: readonly Some[], headings: readonly number[], field: Field, r: Reach, prices: Prices, here: Circumstances, clip: Clip): Worth {
  return weighed(patches, plans(patches, headings, field, r), field, r, prices, here, clip);
}

/** The same with the runs that are worth trying. */
export function weighed(patches: readonly Some[], tried: readonly Plan[], field: Field, r: Reach, prices: Prices, here: Circumstances, clip: Clip): Worth {
  const by: By = new Map(patches.map((patch) => [patch.number, patch] as const));
  const choices = tried.map((plan) => groupOf(plan, by, prices, here, r));
  const groups = chosen(choices, by, prices);
  // groups that have runs; not even for nothing would those be worth it that are not in `may`
  const driven = Array.from(groups.keys()).filter((i) => groups[i].runs.length > 0 && likely(groups[i], by)[1] >= CHANCE);
  const may = driven.filter((i) => groups[i].value - materialOf(groups[i], by, prices) > CALL);
  const runs = driven.reduce<Aim[]>((all, i) => all.concat(groups[i].runs), []);
  const owner = driven.reduce<number[]>((all, i) => all.concat(groups[i].runs.map(() => i)), []);
  const room = may.length > 0 ? roomOf(field, here, r, clip) : field.room;
  const legs = costsOf(runs, here.start, here.gate, room, r, owner.map((i) => (may.indexOf(i) < 0 ? i : -1)), clip);
  const worthIt = (i: number): boolean => groups[i].label === "worth it";
  const going = new Set(may.filter(worthIt));
  const ceased = new Set<number>();
  const byNet = (a: number, b: number): number => netOf(groups[b]) - netOf(groups[a]) || a - b;
  let nodes: readonly number[];
  for (;;) {
    nodes = ordered(legs, Array.from(owner.keys()).filter((k) => going.has(owner[k])));
    for (const i of driven) {
      const seconds = added(legs, nodes, owner, i, going.has(i), here);
      if (seconds !== null) groups[i] = priced({ ...groups[i], seconds }, by, prices);
    }
    for (const i of [...Array.from(ceased), ...stuck(legs, nodes, owner, groups)]) if (worthIt(i)) groups[i] = { ...groups[i], label: "your call" };
    // with its share of the way a group may cease to be worth it, and one nearly on the way may become so
    const worst = Array.from(going).filter((i) => !worthIt(i)).sort(byNet).pop();
    const more = may.filter((i) => worthIt(i) && !going.has(i)).sort(byNet)[0];
    if (worst !== undefined) {
      ceased.add(worst);
      going.delete(worst);
    } else if (more !== undefined) going.add(more);
    else break;
  }
  const path = route(legs, nodes);
  let stops = nodes.map((node, k) => ({ group: owner[node >> 1], run: path.runs[k] }));
  const road = going.size === 0 ? 0 : (here.road_s / 3600) * prices.tractor_h;
  const net = Array.from(going).reduce((sum, i) => sum + netOf(groups[i]), 0) - road;
  if (going.size > 0 && net <= CALL) {
    // each repays its own way, but all together not the road
    const label = net >= -CALL ? "your call" : "leave";
    going.forEach((i) => (groups[i] = { ...groups[i], label }));
    if (label === "leave") stops = [];
  }
  const seconds = secondsOf(path.length_m, nodes.length, here);
  groups.forEach((g, i) => {
    const part = worthIt(i) ? mayClose(g.patches.map((number) => by.get(number) as Some)) : 0;
    if (part > 0 && netOf(g) - part * g.value <= CALL) groups[i] = { ...g, label: "ask first" };
  });
  const sure = nodes.filter((node) => groups[owner[node >> 1]].label !== "ask first");
  looked(legs, sure);
  const sure_s = sure.length < nodes.length ? secondsOf(totalOf(legs.plain, sure), sure.length, here) : seconds;
  return { groups, stops, route: path, seconds, net, sure_s };
}

const secondsOf = (way_m: number, runs: number, here: Circumstances): number => way_m / here.speed_m_s + 2 * LEVER_S * runs;

/** The order of some runs, with ways round what blocks it. */
function ordered(legs: Legs, some: readonly number[]): readonly number[] {
  let nodes: readonly number[] = [];
  for (let k = 0; k < LOOKS; k++) {
    nodes = order(costsAmong(legs.costs, some)).map((node) => 2 * some[node >> 1] + (node % 2));
    if (!looked(legs, nodes)) break;
  }
  return nodes;
}

/** Time that a group adds: what leaving it out saves, or taking it in costs; null: no free way leads to it. */
function added(legs: Legs, nodes: readonly number[], owner: readonly number[], index: number, goes: boolean, here: Circumstances): number | null {
  const own = Array.from(owner.keys()).filter((k) => owner[k] === index);
  let other = nodes;
  if (goes) {
    other = nodes.filter((node) => owner[node >> 1] !== index);
    looked(legs, other);
  } else {
    for (const k of own) other = withOne(legs.costs, other, k);
    const free = totalOf(legs.costs, nodes) + BLOCKED_M / 2;
    if (totalOf(legs.costs, other) > free) looked(legs, other);
    if (totalOf(legs.costs, other) > free) return null;
  }
  const more = totalOf(legs.plain, other) - totalOf(legs.plain, nodes);
  return secondsOf(Math.max(goes ? -more : more, 0), own.length, here);
}

/** Of every two groups between which no free way is, the one worth less. */
const stuck = (legs: Legs, nodes: readonly number[], owner: readonly number[], groups: readonly Group[]): number[] =>
  blockedOf(legs, nodes)
    .filter(([a, b]) => a >= 0 && b >= 0)
    .map(([a, b]) => [owner[a >> 1], owner[b >> 1]])
    .map(([p, q]) => (netOf(groups[q]) < netOf(groups[p]) ? q : p));

/** Where one may drive, with the ground about where one stands now and about the gate. */
function roomOf(field: Field, here: Circumstances, r: Reach, clip: Clip): Room {
  const far = Math.max(2 * r.turn_m, r.width_m);
  const near = [here.start, here.gate].map(([x, y]) => circle(x, y, far));
  // a gate lies on the fence itself, and must not fall outside by a rounding
  const clear = clip.grown(field.clear, EDGE_M, "mitred");
  return new Room(clip.union([...field.room.rings, ...clip.intersection(clip.union(near), clear)]));
}

/** Sixty-four corners, as at home. */
function circle(x: number, y: number, radius: number): Ring {
  const out = new Float64Array(128);
  for (let k = 0; k < 64; k++) {
    out[2 * k] = x + radius * Math.cos((k * Math.PI) / 32);
    out[2 * k + 1] = y + radius * Math.sin((k * Math.PI) / 32);
  }
  return out;
}

/** A plan on its own: driven up to by one wide turn. */
function groupOf({ runs, covers, twice_m2 }: Plan, by: By, prices: Prices, here: Circumstances, r: Reach): Group {
  const way = runs.reduce((sum, run) => sum + run.length_m + r.lead_m, 0);
  const turning = 3.5 * r.turn_m * runs.length;
  let [value, left_m2] = [0, 0];
  covers.forEach((area, number) => {
    value += (by.get(number)?.chance ?? 0) * area;
    left_m2 += Math.max((by.get(number)?.area_m2 ?? 0) - area, 0);
  });
  const made: Group = {
    patches: Array.from(covers.keys()).sort((a, b) => a - b),
    runs,
    value: (value / 1e4) * bareHa(prices),
    cost: 0,
    seconds: (way + turning) / here.speed_m_s + 2 * LEVER_S * runs.length,
    twice_m2,
    left_m2,
    label: "leave",
  };
  return priced(made, by, prices);
}

/** Seed, fertiliser and fuel on ground that is sown already, or may be. */
function materialOf(g: Group, by: By, prices: Prices): number {
  let nothing = 0;
  for (const run of g.runs) run.covers.forEach((area, number) => (nothing += (1 - (by.get(number)?.chance ?? 0)) * area));
  return ((g.twice_m2 + nothing) / 1e4) * (seedAndFertiliser(prices) + prices.fuel_l_ha * prices.fuel_price_l);
}

/** The group with the cost of its ground and its time, and its label. */
function priced(g: Group, by: By, prices: Prices): Group {
  const made = { ...g, cost: materialOf(g, by, prices) + (g.seconds / 3600) * prices.tractor_h };
  return { ...made, label: labelOf(made, by, prices) };
}

/** The area of a group's patches, and their chance by it. */
function likely(g: Group, by: By): readonly [number, number] {
  let [area, chances] = [0, 0];
  for (const number of g.patches) {
    const { area_m2, chance } = by.get(number) ?? { area_m2: 0, chance: 0 };
    area += area_m2;
    chances += chance * area_m2;
  }
  return [area, chances / Math.max(area, 1e-9)];
}

/** Net of a group of one patch if that is bare for certain. */
function ifReal(g: Group, patch: Some, prices: Prices): number {
  const real: By = new Map([[patch.number, { ...patch, chance: 1 }]]);
  const value = ((patch.area_m2 - g.left_m2) / 1e4) * bareHa(prices);
  return netOf(priced({ ...g, value }, real, prices));
}

function labelOf(g: Group, by: By, prices: Prices): Label {
  const [area, chance] = likely(g, by);
  if (chance < CHANCE) {
    const holds = (area / 1e4) * chance * bareHa(prices);
    return holds > (LOOK_S / 3600) * prices.tractor_h ? "look first" : "leave";
  }
  // no straight run reaches it: backing in is for the driver to judge
  if (g.runs.length === 0) return "leave";
  if (netOf(g) > CALL) return "worth it";
  return netOf(g) >= -CALL ? "your call" : "leave";
}

/**
 * Greedy cover: the best group first, each patch in one group; the rest each on its own. What must be looked
 * at first is looked at patch by patch, and its runs are those that would finish it best if it is there.
 */
function chosen(choices: readonly Group[], by: By, prices: Prices): Group[] {
  const left = new Map(by);
  const out: Group[] = [];
  for (const group of choices.slice().sort((a, b) => netOf(b) - netOf(a))) {
    if (likely(group, by)[1] < CHANCE || netOf(group) <= -CALL) continue;
    if (!group.patches.every((number) => left.has(number))) continue;
    out.push(group);
    for (const number of group.patches) left.delete(number);
  }
  left.forEach((patch, number) => {
    let [best, most]: [Group | null, number] = [null, -Infinity];
    for (const group of choices) {
      if (group.patches.length > 1 || group.patches[0] !== number) continue;
      const net = ifReal(group, patch, prices);
      if (net > most) [best, most] = [group, net];
    }
    const group = best ?? { patches: [number], runs: [], value: 0, cost: 0, seconds: 0, twice_m2: 0, left_m2: patch.area_m2, label: "leave" as const };
    out.push({ ...group, label: labelOf(group, by, prices) });
  });
  return out.sort((a, b) => a.patches[0] - b.patches[0]);
}

/** The side that one comes from when driving along a heading. */
export const side = (heading_rad: number): string => toward(heading_rad + Math.PI);
