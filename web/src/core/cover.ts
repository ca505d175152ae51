// Strips of runs -> the ground's states: sown, part, twice, bare, doubt.
//
// Ground is sown where the front and the rear rank both passed while seeding, part where only one did,
// twice where any rank seeded in two visits. Two passes belong to one visit unless both more than 20 s
// and more than two widths of travel lie between them.
import type { Clip } from "./clip";
import { hypot } from "./columns";
import { apart, areaOf, boxOf, holds, ringsOf, signedArea } from "./rings";
import { meets } from "./swath";
import { type Poses, barEnds, pieceCuts, posesAt, swept, thinned } from "./sweep";
import type { Area, Ground, Ring } from "./words";

/** Revisits of one run count as another visit beyond this time and this many widths of way. */
const VISIT_S = 20;
const VISIT_WIDTHS = 2;
/** So many areas are laid together at once. */
const TOGETHER = 8;

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
  const [[lx, ly], [rx, ry]] = barEnds(posesAt(poses, [at]), ahead_m, width_m);
  return Float64Array.of(lx, ly, rx, ry);
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
export function sownByAll(clip: Clip, strips: readonly Strip[]): Ring[][] {
  return strips.map(({ pieces }) => {
    const front = flat(pieces.map((p) => p.front));
    if (pieces.every((p) => p.front === p.rear)) return front;
    return clip.intersection(front, flat(pieces.map((p) => p.rear)));
  });
}

/**
 * Areas, and what they cover together so many at a time, and those again until one is left: what lies beside
 * each other in time lies beside each other on the ground, and seams that are gone need not be swept again.
 */
export type Laid = readonly (readonly (readonly Ring[])[])[];

function laid(clip: Clip, areas: readonly (readonly Ring[])[]): Laid {
  const out = [areas];
  for (let last = areas; last.length > 1; out.push(last)) last = together(last).map((some) => clip.union(some));
  return out;
}

/** All that areas cover together. */
const whole = (areas: Laid): readonly Ring[] => areas[areas.length - 1][0] ?? [];

/** The areas that are laid together, each group's rings in one list. */
function together(areas: readonly (readonly Ring[])[]): Ring[][] {
  const out: Ring[][] = [];
  for (let from = 0; from < areas.length; from += TOGETHER) out.push(flat(areas.slice(from, from + TOGETHER)));
  return out;
}

/**
 * Ground seeded by more than one visit, and the area of all extra visits, m². Apart from the other states: the
 * list of patches needs none of it.
 *
 * The extra is what runs cover, each by itself, less what they cover together; and what pieces of one run cover
 * again of its own earlier visits, less what the last pieces of the same visit have counted already. So it is
 * never less than the ground seeded twice.
 */
export function visitedAgain(clip: Clip, strips: readonly Strip[], { net, sown, part }: Once, runs: Laid): { twice: Area; again_m2: number } {
  const within = ringsOf(net);
  const doubles = flat(runs.map((areas) => (areas.length > 1 ? flat(together(areas).map((some) => clip.overlap(some))) : [])));
  let extra_m2 = -areaOf(sown) - areaOf(part);
  strips.forEach((s, i) => {
    extra_m2 += areaWithin(clip, runs[0][i], s, within);
    for (const { all, fresh } of ownAgain(clip, s)) {
      doubles.push(...all);
      extra_m2 += areaWithin(clip, fresh, s, within);
    }
  });
  const twice = clip.polygons(clip.intersection(doubles, within));
  return { twice, again_m2: Math.max(extra_m2, areaOf(twice)) };
}

/** What pieces of a run cover again of its own earlier visits, and what of that no piece near it covered again. */
function ownAgain(clip: Clip, { pieces, width_m }: Strip): { all: Ring[]; fresh: Ring[] }[] {
  const boxes = pieces.map((piece) => boxOf(anyRank(piece)));
  const doubles = pieces.map((): Ring[] => []);
  return pieces.map((piece, k) => {
    const earlier = boxes.reduce<number[]>((found, box, j) => (j < k && apart(box, boxes[k]) <= 0 ? found.concat(j) : found), []);
    const near = (j: number): boolean =>
      piece.from_s - pieces[j].to_s <= VISIT_S || piece.from_m - pieces[j].to_m <= VISIT_WIDTHS * width_m;
    const far = flat(earlier.filter((j) => !near(j)).map((j) => anyRank(pieces[j])));
    const all = clip.intersection(anyRank(piece), far);
    doubles[k] = all;
    const counted = flat(earlier.filter(near).map((j) => doubles[j]));
    return { all, fresh: counted.length > 0 ? clip.difference(all, counted) : all };
  });
}

/** Area of rings that share no ground within others, m²; they are clipped only where they come near their lines. */
function areaWithin(clip: Clip, rings: readonly Ring[], { begin }: Strip, within: readonly Ring[]): number {
  if (rings.length === 0) return 0;
  // a box along the bar as it began: along another direction a long run's box would be mostly ground of others
  const [lx, ly, rx, ry] = begin ?? [0, 0, 1, 0];
  const size = hypot(rx - lx, ry - ly);
  const [c, s] = [(rx - lx) / size, (ry - ly) / size];
  const box = boxOf(rings, c, s);
  const near = within.some((line) => meets(line.map((v, i) => (i % 2 === 0 ? c * v + s * line[i + 1] : c * v - s * line[i - 1])), box));
  const inside = near ? clip.intersection(rings, within) : holds(within, rings[0][0], rings[0][1]) ? rings : [];
  return inside.reduce((sum, ring) => sum + signedArea(ring), 0);
}

/** The states of ground without what only `visitedAgain` tells. */
export type Once = Omit<Ground, "twice">;

/**
 * The states of the paddock's ground, and the runs that they are made of.
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
): { once: Once; runs: Laid } {
  const net = clip.difference(boundary, keepOut);
  const runs = laid(clip, strips.map((s) => clip.union(flat(s.pieces.map(anyRank)))));
  const covered = whole(runs);
  const sown = clip.intersection(whole(laid(clip, sownByAll(clip, strips))), net);
  const seeded = clip.intersection(covered, net);
  let left = clip.difference(net, [...seeded, ...sown]);
  const doubt = clip.intersection(left, flat(strips.map((s) => s.doubt)));
  if (doubt.length > 0) left = clip.difference(left, doubt);
  const outOfReach = clip.intersection(left, unreachable);
  if (outOfReach.length > 0) left = clip.difference(left, outOfReach);
  const once = {
    net: clip.polygons(net),
    keep_out: clip.polygons(keepOut),
    sown: clip.polygons(sown),
    part: clip.polygons(clip.difference(seeded, sown)),
    bare: clip.polygons(left),
    doubt: clip.polygons(doubt),
    unreachable: clip.polygons(outOfReach),
    outside: clip.polygons(clip.difference(covered, boundary)),
  };
  return { once, runs };
}
