// Strips of runs -> the ground's states: sown, part, twice, bare, doubt.
//
// Ground is sown where the front and the rear rank both passed while seeding, part where only one did,
// twice where any rank seeded in two visits. Two passes belong to one visit unless both more than 20 s
// and more than two widths of travel lie between them.
import type { Clip } from "./clip";
import { order } from "./columns";
import { boxOf, holds, ringsOf, signedArea } from "./rings";
import { meets } from "./swath";
import { type Poses, barEnds, pieceCuts, swept, thinned } from "./sweep";
import type { Area, Ground, Ring } from "./words";

/** Revisits of one run count as another visit beyond this time and this many widths of way. */
const VISIT_S = 20;
const VISIT_WIDTHS = 2;

/** A piece of a strip: what the ranks passed over, from when to when and over which way. */
export interface Piece {
  readonly front: readonly Ring[];
  readonly rear: readonly Ring[];
  readonly from_s: number;
  readonly to_s: number;
  readonly from_m: number;
  readonly to_m: number;
}

/**
 * What one run put in the ground. `doubt` is ground that may or may not have been sown (blind stretches).
 * `begin` and `end` are the lines of the bar where its ground begins (rear rank) and ends (front).
 */
export interface Strip {
  readonly run: number;
  readonly pieces: readonly Piece[];
  readonly width_m: number;
  readonly way_m: number;
  readonly doubt: readonly Ring[];
  readonly begin: Ring | null;
  readonly end: Ring | null;
}

/** The strip of one run from its unbroken stretches of poses. */
export function strip(
  run: number,
  stretches: readonly Poses[],
  tool: { readonly front_rank_m: number; readonly rear_rank_m: number; readonly width_m: number },
  doubt: readonly Ring[] = [],
): Strip {
  const { front_rank_m: front, rear_rank_m: rear, width_m } = tool;
  const pieces: Piece[] = [];
  let way_m = 0;
  for (const poses of stretches.map((p) => thinned(p, width_m))) {
    const cuts = pieceCuts(poses);
    const fronts = swept(poses, cuts, front, width_m);
    const rears = rear === front ? fronts : swept(poses, cuts, rear, width_m);
    const { t_s: t, path_m: s } = poses;
    fronts.forEach((rings, k) => {
      const [a, b] = [cuts[k], cuts[k + 1]];
      const span = { from_s: t[a], to_s: t[b], from_m: s[a], to_m: s[b] };
      pieces.push({ front: rings, rear: rears[k], ...span });
    });
    way_m += s[s.length - 1] - s[0];
  }
  const last = stretches.length - 1;
  return {
    run,
    pieces,
    width_m,
    way_m,
    doubt,
    begin: last < 0 ? null : barLine(stretches[0], 0, rear, width_m),
    end:
      last < 0 ? null : barLine(stretches[last], stretches[last].t_s.length - 1, front, width_m),
  };
}

function barLine(poses: Poses, at: number, ahead_m: number, width_m: number): Ring {
  const [left, right] = barEnds(poses, ahead_m, width_m);
  return Float64Array.of(left[2 * at], left[2 * at + 1], right[2 * at], right[2 * at + 1]);
}

/** What any rank of a piece passed over: rings that may overlap, all anticlockwise. */
export function anyRank(piece: Piece): readonly Ring[] {
  return piece.front === piece.rear ? piece.front : [...piece.front, ...piece.rear];
}

/** All rings of all lists in one. */
export function flat<T>(lists: readonly (readonly T[])[]): T[] {
  const out: T[] = [];
  for (const list of lists) for (const one of list) out.push(one);
  return out;
}

/** Ground that front and rear rank both seeded, run by run, as rings that may overlap. */
export function sownByAll(clip: Clip, strips: readonly Strip[]): Ring[] {
  return flat(
    strips.map(({ pieces }) => {
      const front = flat(pieces.map((p) => p.front));
      if (pieces.every((p) => p.front === p.rear)) return front;
      return clip.intersection(front, flat(pieces.map((p) => p.rear)));
    }),
  );
}

interface Visit extends Piece {
  readonly run: number;
  readonly near_m: number;
  readonly rings: readonly Ring[];
}

/**
 * Ground of `net` seeded by more than one visit, and the area of all extra visits, m².
 *
 * Apart from the other states: the list of patches needs none of it, and it costs as much as they do. The extra of a piece is what it covers again of ground that earlier visits covered, less what the last
 * pieces of its own visit have counted already. So the extra is never less than the ground seeded twice.
 */
export function visitedAgain(
  clip: Clip,
  strips: readonly Strip[],
  net: Area,
): { twice: Area; again_m2: number } {
  const within = ringsOf(net);
  const found: Visit[] = flat(
    strips.map((s, run) =>
      s.pieces.map((p) => ({ ...p, run, near_m: VISIT_WIDTHS * s.width_m, rings: anyRank(p) })),
    ),
  );
  const visits = Array.from(order(found.map((v) => v.from_s)), (i) => found[i]);
  const doubles = visits.map((): Ring[] => []);
  let again_m2 = 0;
  for (const [later, earlier] of touching(visits)) {
    const piece = visits[later];
    const near = (k: number): boolean =>
      visits[k].run === piece.run &&
      (piece.from_s - visits[k].to_s <= VISIT_S || piece.from_m - visits[k].to_m <= piece.near_m);
    const far = earlier.filter((k) => !near(k));
    if (far.length === 0) continue;
    const again = clip.intersection(piece.rings, flat(far.map((k) => visits[k].rings)));
    if (again.length === 0) continue;
    doubles[later] = again;
    const counted = flat(earlier.filter(near).map((k) => doubles[k]));
    const fresh = counted.length > 0 ? clip.difference(again, counted) : again;
    again_m2 += areaWithin(clip, fresh, within);
  }
  const twice = clip.intersection(flat(doubles), within);
  return { twice: clip.polygons(twice), again_m2 };
}

/** Area of rings that share no ground within others, m²; only those that come near their lines are clipped. */
function areaWithin(clip: Clip, rings: readonly Ring[], within: readonly Ring[]): number {
  let sum = 0;
  const cut = rings.filter((ring) => {
    const box = boxOf([ring]);
    const near = within.some((line) => meets(line, box));
    if (!near && holds(within, ring[0], ring[1])) sum += signedArea(ring);
    return near;
  });
  return clip.intersection(cut, within).reduce((all, ring) => all + signedArea(ring), sum);
}

/** For each piece, in order, the earlier ones whose upright boxes meet its own. */
function touching(visits: readonly Visit[]): [number, number[]][] {
  // boxes along the direction most pieces lie in: along another one, long pieces would all meet
  const turn = mainTurn(visits);
  const [c, s] = [Math.cos(turn), Math.sin(turn)];
  const boxes = visits.map(({ rings }) => boxOf(rings, c, s));
  const earlier = visits.map((): number[] => []);
  let open: number[] = [];
  for (const i of order(boxes.map((box) => box.south))) {
    const { west, east, south } = boxes[i];
    open = open.filter((j) => boxes[j].north >= south);
    for (const j of open) {
      if (boxes[j].west > east || boxes[j].east < west) continue;
      if (i > j) earlier[i].push(j);
      else earlier[j].push(i);
    }
    open.push(i);
  }
  return earlier.map((list, i) => [i, list]);
}

/** The direction of the first edges of pieces, weighted by their length, modulo a quarter turn. */
function mainTurn(visits: readonly Visit[]): number {
  let [east, north] = [0, 0];
  for (const { rings, from_m, to_m } of visits) {
    const ring = rings[0];
    if (ring === undefined) continue;
    const way = Math.atan2(ring[3] - ring[1], ring[2] - ring[0]);
    east += (to_m - from_m) * Math.cos(4 * way);
    north += (to_m - from_m) * Math.sin(4 * way);
  }
  return Math.atan2(north, east) / 4;
}

/** The states of ground without what only `visitedAgain` tells. */
export type Once = Omit<Ground, "twice">;

/**
 * The states of the paddock's ground.
 *
 * sown + part + bare + doubt + unreachable = boundary − keep-outs. Ground is doubt where only a blind
 * stretch may have covered it, unreachable where nothing did and it is marked so. All rings given must
 * run anticlockwise, holes clockwise.
 */
export function ground(
  clip: Clip,
  strips: readonly Strip[],
  boundary: readonly Ring[],
  keepOut: readonly Ring[],
  unreachable: readonly Ring[],
): Once {
  const net = clip.difference(boundary, keepOut);
  const covered = clip.union(flat(strips.map((s) => flat(s.pieces.map(anyRank)))));
  const sown = clip.intersection(sownByAll(clip, strips), net);
  const seeded = clip.intersection(covered, net);
  let left = clip.difference(net, [...seeded, ...sown]);
  const doubt = clip.intersection(left, flat(strips.map((s) => s.doubt)));
  if (doubt.length > 0) left = clip.difference(left, doubt);
  const outOfReach = clip.intersection(left, unreachable);
  if (outOfReach.length > 0) left = clip.difference(left, outOfReach);
  return {
    net: clip.polygons(net),
    keep_out: clip.polygons(keepOut),
    sown: clip.polygons(sown),
    part: clip.polygons(clip.difference(seeded, sown)),
    bare: clip.polygons(left),
    doubt: clip.polygons(doubt),
    unreachable: clip.polygons(outOfReach),
    outside: clip.polygons(clip.difference(covered, boundary)),
  };
}
