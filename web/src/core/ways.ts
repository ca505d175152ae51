// Ways of the tractor between straight runs: forward only, no tighter than it turns, and free.
//
// Each leg takes the shortest of the six words of `dubins` that stays in the room where one may drive. Where
// none does, a way past the corners of what is in between is looked for; where there is none either, the leg
// is marked blocked, and the driver must judge.
import type { Aim, Reach } from "./aim";
import type { Clip } from "./clip";
import { hypot } from "./columns";
import { type Dubins, type Pose, posesOf, straight, ways } from "./dubins";
import { type Costs, totalOf } from "./order";
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
const CORNERS = 24;

/** What ordering needs, and the runs of every node: 2k as given, 2k + 1 turned. `plain`: no penalties. */
export interface Legs {
  readonly costs: Costs;
  readonly plain: Costs;
  readonly runs: readonly Aim[];
}

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
  readonly plain: Costs;
}

/** How much shorter the way is without some of its runs, m. */
export function savedWithout({ nodes, plain }: Route, places: readonly number[]): number {
  const rest = nodes.filter((_, k) => places.indexOf(k) < 0);
  return totalOf(plain, nodes) - totalOf(plain, rest);
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

/** Length of every way between here, the ends of all runs, and the gate, m. */
export function costsOf(runs: readonly Aim[], start: Pose, gate: readonly [number, number], room: Room, r: Reach): Legs {
  const nodes = runs.reduce<Aim[]>((all, run) => all.concat(run, turned(run, r)), []);
  const n = nodes.length;
  const columns = (): { plain: Floats; full: Floats } => ({ plain: new Float64Array(n), full: new Float64Array(n) });
  const [first, last, own] = [columns(), columns(), columns()];
  const between = { plain: new Float64Array(n * n), full: new Float64Array(n * n) };
  const fill = (into: { plain: Floats; full: Floats }, at: number, [way, hit]: readonly [Dubins, boolean]): void => {
    into.plain[at] = way.length_m;
    into.full[at] = way.length_m + (hit ? BLOCKED_M : 0);
  };
  nodes.forEach((a, i) => {
    fill(first, i, free(start, a.enter, room, r));
    fill(last, i, free(a.leave, home(a.leave, gate), room, r));
    own.plain[i] = own.full[i] = hypot(a.leave[0] - a.enter[0], a.leave[1] - a.enter[1]);
    // a run may be driven as it was found; from its other end only where that is free too
    if (i % 2 === 1 && !room.fitsLine(a.enter[0], a.enter[1], a.leave[0], a.leave[1])) own.full[i] += BLOCKED_M;
    nodes.forEach((b, j) => {
      if (i >> 1 !== j >> 1) fill(between, i * n + j, free(a.leave, b.enter, room, r));
    });
  });
  const direct = hypot(gate[0] - start[0], gate[1] - start[1]);
  return {
    costs: { start: first.full, between: between.full, home: last.full, own: own.full, direct },
    plain: { start: first.plain, between: between.plain, home: last.plain, own: own.plain, direct },
    runs: nodes,
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
export function route(legs: Legs, nodes: readonly number[], start: Pose, gate: readonly [number, number], room: Room, r: Reach, clip: Clip): Route {
  const poses: number[] = [];
  const down: number[] = [];
  let [here, blocked] = [start, false];
  const add = (way: Floats, sows: (at: number) => boolean): void => {
    for (let i = 0; i < way.length; i += 3) {
      poses.push(way[i], way[i + 1], way[i + 2]);
      down.push(sows(hypot(way[i] - way[0], way[i + 1] - way[1])) ? 1 : 0);
    }
  };
  const to = (pose: Pose): void => {
    const [way, stopped] = round(here, pose, room, r, clip);
    add(way, () => false);
    blocked = blocked || stopped;
    here = pose;
  };
  for (const node of nodes) {
    const run = legs.runs[node];
    to(run.enter);
    const length = hypot(run.leave[0] - here[0], run.leave[1] - here[1]);
    add(posesOf(straight(here, length), FINE_M), (gone) => gone >= length - run.length_m - 1e-6);
    here = run.leave;
  }
  if (nodes.length > 0) to(home(here, gate));
  else add(Float64Array.from(start), () => false);
  let length_m = 0;
  for (let i = 3; i < poses.length; i += 3) length_m += hypot(poses[i] - poses[i - 3], poses[i + 1] - poses[i - 2]);
  return {
    nodes,
    runs: nodes.map((node) => legs.runs[node]),
    poses: Float64Array.from(poses),
    tool_down: Uint8Array.from(down),
    length_m,
    blocked,
    plain: legs.plain,
  };
}

/** Poses of the shortest free way, straight there or past one corner of what is between. */
function round(a: Pose, b: Pose, room: Room, r: Reach, clip: Clip): readonly [Floats, boolean] {
  const [way, hit] = free(a, b, room, r);
  if (!hit) return [posesOf(way, FINE_M), false];
  const chord = Math.atan2(b[1] - a[1], b[0] - a[0]);
  let [best, least]: [readonly [Dubins, Dubins] | null, number] = [null, Infinity];
  for (const [x, y] of placesBetween(a, b, room, r, clip)) {
    for (let k = 0; k < HEADINGS; k++) {
      const via: Pose = [x, y, chord + (k * 2 * Math.PI) / HEADINGS];
      const [there, there_hit] = free(a, via, room, r);
      if (there_hit || there.length_m >= least) continue;
      const [back, back_hit] = free(via, b, room, r);
      const length = there.length_m + back.length_m;
      if (!back_hit && length < least) [best, least] = [[there, back], length];
    }
  }
  if (best === null) return [posesOf(way, FINE_M), true];
  const [there, back] = best.map((leg) => posesOf(leg, FINE_M));
  const out = new Float64Array(there.length + back.length);
  out.set(there);
  out.set(back, there.length);
  return [out, false];
}

/** Places that a way may be led through: corners of the room as far in as it turns, and about the middle. */
function placesBetween(a: Pose, b: Pose, room: Room, r: Reach, clip: Clip): (readonly [number, number])[] {
  const off = ([x, y]: readonly [number, number]): number => hypot(x - a[0], y - a[1]) + hypot(x - b[0], y - b[1]);
  const corners: [number, number][] = [];
  for (const ring of clip.grown(room.rings, -r.turn_m, "round", 32).map((each): Ring => thinnedRing(each, 2))) {
    for (let i = 0; i < ring.length; i += 2) corners.push([ring[i], ring[i + 1]]);
  }
  corners.sort((p, q) => off(p) - off(q));
  const near: (readonly [number, number])[] = corners.slice(0, CORNERS);
  for (const far of [2, 4]) {
    for (let k = 0; k < HEADINGS; k++) {
      const turn = (k * 2 * Math.PI) / HEADINGS;
      near.push([(a[0] + b[0]) / 2 + far * r.turn_m * Math.cos(turn), (a[1] + b[1]) / 2 + far * r.turn_m * Math.sin(turn)]);
    }
  }
  return near.filter(([x, y]) => room.holds(x, y));
}
