// Ways of the tractor between straight runs: forward only, no tighter than it turns, and free.
//
// Each leg takes the shortest of the six words of `dubins` that stays in the room where one may drive. Where
// none does, a way past the corners of what is in between is looked for; where there is none either, the leg
// is marked blocked, and the driver must judge.
import { type Aim, type Reach, opens, stubs } from "./aim";
import type { Clip } from "./clip";
import { hypot } from "./columns";
import { type Dubins, type Pose, along, posesOf, straight, ways } from "./dubins";
import type { Costs } from "./order";
import { thinnedRing } from "./rings";
import type { Room } from "./room";
import type { Flags, Floats, Ring } from "./words";

/** A way that leaves the room is only taken where there is no other, m. */
export const BLOCKED_M = 1e6;
const STEP_M = 3;
const FINE_M = 0.5;
/** A place is driven through in so many directions, the shortest counts. */
const HEADINGS = 8;
/** So many corners are tried, the nearest to the way first. */
const CORNERS = 12;

/** What ordering needs: `plain` without the penalties of blocked ways; where one is and goes, and may drive. */
export interface Legs {
  readonly costs: Costs;
  readonly plain: Costs;
  /** Of every node: 2k as given, 2k + 1 turned. */
  readonly runs: readonly Aim[];
  readonly start: Pose;
  readonly gate: readonly [number, number];
  readonly room: Room;
  readonly reach: Reach;
  readonly clip: Clip;
  /** Ways that were looked for, by the nodes that they join. */
  readonly known: Map<string, Leg>;
}

/** Poses of a way, and whether it is blocked. */
type Leg = readonly [Floats, boolean];

/**
 * A way through runs: nodes and runs in driving order, and the tractor's rear axle on it: `poses` east,
 * north, heading by turns; `tool_down` where seed lands; `blocked` that a leg leaves the room.
 */
export interface Route {
  readonly nodes: readonly number[];
  readonly runs: readonly Aim[];
  readonly poses: Floats;
  readonly tool_down: Flags;
  readonly length_m: number;
  readonly blocked: boolean;
}

/** From which node to which an order leads; -1: from where one stands, and to the gate. */
const pairsOf = (nodes: readonly number[]): (readonly [number, number])[] => (nodes.length === 0 ? [] : [...nodes, -1].map((b, k) => [k === 0 ? -1 : nodes[k - 1], b] as const));

function leg(legs: Legs, a: number, b: number): Leg {
  const key = `${a} ${b}`;
  const known = legs.known.get(key);
  if (known !== undefined) return known;
  const begin = a < 0 ? legs.start : legs.runs[a].leave;
  const made = round(begin, b < 0 ? home(begin, legs.gate) : legs.runs[b].enter, legs.room, legs.reach, legs.clip);
  legs.known.set(key, made);
  return made;
}

/**
 * Look for ways round what blocks an order; whether that changed any cost. What is found costs its length; what
 * is not costs twice the penalty, so that legs not looked at yet come first.
 */
export function looked(legs: Legs, nodes: readonly number[]): boolean {
  let changed = false;
  for (const [a, b] of pairsOf(nodes)) {
    const at = a < 0 ? b : b < 0 ? a : a * legs.runs.length + b;
    const name = a < 0 ? "start" : b < 0 ? "home" : "between";
    const cost = legs.costs[name][at];
    if (cost < BLOCKED_M || cost >= 2 * BLOCKED_M) continue;
    const [way, stopped] = leg(legs, a, b);
    legs.plain[name][at] = lengthOf(way);
    legs.costs[name][at] = lengthOf(way) + (stopped ? 2 * BLOCKED_M : 0);
    changed = true;
  }
  return changed;
}

/** Legs of an order for which no free way is known. */
export const blockedOf = (legs: Legs, nodes: readonly number[]): (readonly [number, number])[] => pairsOf(nodes).filter(([a, b]) => leg(legs, a, b)[1]);

function lengthOf(poses: ArrayLike<number>): number {
  let length_m = 0;
  for (let i = 3; i < poses.length; i += 3) length_m += hypot(poses[i] - poses[i - 3], poses[i + 1] - poses[i - 2]);
  return length_m;
}

/** The same run driven from its other end. */
export function turned(run: Aim, r: Reach): Aim {
  const [c, s] = [-Math.cos(run.heading_rad), -Math.sin(run.heading_rad)];
  const heading = run.heading_rad + Math.PI;
  const ahead = ([x, y]: readonly [number, number], by: number): Pose => [x + c * by, y + s * by, heading];
  return {
    ...run,
    start: run.end,
    end: run.start,
    heading_rad: heading,
    enter: ahead(run.end, r.ahead_m - r.lead_m),
    leave: ahead(run.start, r.ahead_m),
  };
}

/**
 * Length of every way between here, the ends of all runs, and the gate, m. `together`, a number a run: ways
 * between runs of two numbers that are not -1 are not asked for, and stay infinitely long.
 */
export function costsOf(runs: readonly Aim[], start: Pose, gate: readonly [number, number], room: Room, reach: Reach, together: readonly number[], clip: Clip): Legs {
  const nodes = runs.reduce<Aim[]>((all, run) => all.concat(run, turned(run, reach)), []);
  const n = nodes.length;
  const columns = (): { plain: Floats; full: Floats } => ({ plain: new Float64Array(n), full: new Float64Array(n) });
  const [first, last, own] = [columns(), columns(), columns()];
  const between = { plain: new Float64Array(n * n).fill(Infinity), full: new Float64Array(n * n).fill(Infinity) };
  const fill = (into: { plain: Floats; full: Floats }, at: number, [way, hit]: readonly [Dubins, boolean]): void => {
    into.plain[at] = way.length_m;
    into.full[at] = way.length_m + (hit ? BLOCKED_M : 0);
  };
  nodes.forEach((a, i) => {
    const [x, y] = a.enter;
    fill(first, i, free(start, a.enter, room, reach));
    fill(last, i, free(a.leave, home(a.leave, gate), room, reach));
    own.plain[i] = own.full[i] = hypot(a.leave[0] - x, a.leave[1] - y);
    // as it was found a run can be driven; from its other end only where there is room for that too
    if (i % 2 === 1 && !(room.fitsLine(x, y, a.leave[0], a.leave[1]) && opens(room, a.leave, reach.turn_m) && opens(room, about(a.enter), reach.turn_m))) own.full[i] += 3 * BLOCKED_M;
    nodes.forEach((b, j) => {
      const [p, q] = [together[i >> 1], together[j >> 1]];
      if (i >> 1 !== j >> 1 && (p === q || p < 0 || q < 0)) fill(between, i * n + j, free(a.leave, b.enter, room, reach));
    });
  });
  const direct = hypot(gate[0] - start[0], gate[1] - start[1]);
  return {
    costs: { start: first.full, between: between.full, home: last.full, own: own.full, direct },
    plain: { start: first.plain, between: between.plain, home: last.plain, own: own.plain, direct },
    runs: nodes,
    start,
    gate,
    room,
    reach,
    clip,
    known: new Map(),
  };
}

/** The gate, driven up to straight from where the last run ends. */
const home = (leave: Pose, gate: readonly [number, number]): Pose => [gate[0], gate[1], Math.atan2(gate[1] - leave[1], gate[0] - leave[0])];

/** The shortest free way, or the shortest of all with true: blocked. */
function free(a: Pose, b: Pose, room: Room, r: Reach): readonly [Dubins, boolean] {
  const choices = ways(a, b, r.turn_m);
  const found = choices.find((way) => room.fits(way, STEP_M));
  return found === undefined ? [choices[0], true] : [found, false];
}

/** The way of the tractor's rear axle through the nodes to the gate. */
export function route(legs: Legs, nodes: readonly number[]): Route {
  const poses: number[] = [];
  const down: number[] = [];
  let blocked = false;
  const add = (way: ArrayLike<number>, sows: (gone: number) => boolean): void => {
    for (let i = 0; i < way.length; i += 3) {
      poses.push(way[i], way[i + 1], way[i + 2]);
      down.push(sows(hypot(way[i] - way[0], way[i + 1] - way[1])) ? 1 : 0);
    }
  };
  for (const [a, b] of pairsOf(nodes)) {
    const [way, stopped] = leg(legs, a, b);
    blocked = blocked || stopped;
    add(way, () => false);
    if (b < 0) continue;
    const { enter, leave, length_m } = legs.runs[b];
    const length = hypot(leave[0] - enter[0], leave[1] - enter[1]);
    // two parts, so that a pose stands where the tool is let down
    add(posesOf({ ...straight(enter, length), word: "SSS", parts_m: [0, length - length_m, length_m] }, FINE_M), (gone) => gone >= length - length_m - 1e-6);
  }
  if (nodes.length === 0) add(legs.start, () => false);
  return {
    nodes,
    runs: nodes.map((node) => legs.runs[node]),
    poses: Float64Array.from(poses),
    tool_down: Uint8Array.from(down),
    length_m: lengthOf(poses),
    blocked,
  };
}

/**
 * Poses of the shortest free way, straight there or by way of one place. Out of a narrow place, and into one, it
 * may begin and end with a turn and a straight way off.
 */
function round(a: Pose, b: Pose, room: Room, r: Reach, clip: Clip): Leg {
  const [way, hit] = free(a, b, room, r);
  if (!hit) return [posesOf(way, FINE_M), false];
  const off = (pose: Pose): Dubins[] => stubs(pose, r.turn_m).filter((each) => room.fits(each, STEP_M));
  const starts: Begun[] = [[a, []], ...off(a).map((stub): Begun => [endOf(stub), [stub]])];
  const ends: Begun[] = [[b, []], ...off(about(b)).map(backwards)];
  const long = (parts: readonly Dubins[]): number => parts.reduce((sum, { length_m }) => sum + length_m, 0);
  const join = (begun: readonly Begun[], into: readonly Begun[], known: readonly Dubins[] | null): readonly Dubins[] | null => {
    let least = known;
    for (const [from, first] of begun) {
      for (const [to, last] of into) {
        const [middle, stopped] = free(from, to, room, r);
        const whole = [...first, middle, ...last];
        if (!stopped && (least === null || long(whole) < long(least))) least = whole;
      }
    }
    return least;
  };
  let best = join(starts, ends, null);
  for (const via of viasBetween(a, b, room, r, clip)) {
    if (best !== null && offOf(via, a) + offOf(via, b) > long(best)) continue;
    const there = join(starts, [[via, []]], null);
    if (there !== null) best = join([[via, there]], ends, best);
  }
  if (best === null) return [posesOf(way, FINE_M), true];
  const poses = best.reduce<number[]>((all, each) => all.concat(Array.from(posesOf(each, FINE_M))), []);
  return [Float64Array.from(poses), false];
}

/** Where a way begins or has come to, and its parts. */
type Begun = readonly [Pose, readonly Dubins[]];

const offOf = (p: ArrayLike<number>, q: ArrayLike<number>): number => hypot(p[0] - q[0], p[1] - q[1]);

const about = ([x, y, h]: Pose): Pose => [x, y, h + Math.PI];

const endOf = (way: Dubins): Pose => way.parts_m.reduce<Pose>((pose, length, k) => along(pose, way.word[k], way.radius_m, length), way.start);

/** The way that comes along a stub from its far end to its pose. */
function backwards(stub: Dubins): Begun {
  const [start, [turn, off]] = [about(endOf(stub)), stub.parts_m];
  return [start, [{ ...stub, start, word: stub.word[0] === "L" ? "SRS" : "SLS", parts_m: [off, turn, 0] }]];
}

/** Poses that a way may be led through: at corners of the room as far in as it turns, and about the middle. */
function viasBetween(a: Pose, b: Pose, room: Room, r: Reach, clip: Clip): Pose[] {
  const off = (at: ArrayLike<number>): number => offOf(at, a) + offOf(at, b);
  const corners: [number, number][] = [];
  for (const ring of clip.grown(room.rings, -r.turn_m, "round", 32).map((each): Ring => thinnedRing(each, 2))) {
    for (let i = 0; i < ring.length; i += 2) corners.push([ring[i], ring[i + 1]]);
  }
  corners.sort((p, q) => off(p) - off(q));
  const near = corners.slice(0, CORNERS);
  const turns = Array.from({ length: HEADINGS }, (_, k) => (k * 2 * Math.PI) / HEADINGS);
  for (const far of [2 * r.turn_m, 4 * r.turn_m]) {
    for (const turn of turns) near.push([(a[0] + b[0]) / 2 + far * Math.cos(turn), (a[1] + b[1]) / 2 + far * Math.sin(turn)]);
  }
  const chord = Math.atan2(b[1] - a[1], b[0] - a[0]);
  return near.filter(([x, y]) => room.holds(x, y)).reduce<Pose[]>((all, [x, y]) => all.concat(turns.map((turn): Pose => [x, y, chord + turn])), []);
}
