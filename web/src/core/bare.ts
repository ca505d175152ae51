// Bare ground -> patches: how large, what kind, how sure.
//
// Bare ground is opened by 0.6 m (eroded and dilated), which takes out slivers narrower than 1.2 m, and
// split into parts; parts under 6 m² are dropped from the list, not from the total.
import { besideLines, within } from "./apart";
import type { Clip } from "./clip";
import { type Strip, anyRank, flat } from "./cover";
import { type Box, apart, areaOf, boxOf, lengthOf, polygonArea, ringsOf, thinnedRing } from "./rings";
import type { Area, Call, PatchKind, Polygon, Ring } from "./words";

const OPEN_M = 0.6;
const SMALLEST_M2 = 6;
/** Within this of a patch a run bounds it, m. */
const BOUNDS_M = 1.5;
/** A patch of this length is a strip along a seam, m. */
const LONG_M = 60;
/** What is this many times wider than a long strip, and so large, is no part of it. */
const WIDER = 1.5;
const WIDE_M2 = 20;
/** Chance of a lost furrow at a seam beforehand; what settling leaves of the drift, a part. */
const FURROW = 0.01;
const LEFT = 0.6;
const SURE = 0.9;
const LIKELY = 0.6;
/** Steps in an outline that may come of its corners' rounding: mitred, they would reach out as far as any corner, m. */
const ROUNDED_M = 0.001;
/** What bends by more than this is a corner of the fence, rad. */
const CORNER_RAD = Math.PI / 6;

/** One bare patch before it is numbered: outline and measures, m and m². */
export interface Shape {
  readonly outline: Polygon;
  readonly area_m2: number;
  readonly width_m: number;
  readonly length_m: number;
}

/** The patches of bare ground, largest first. */
export function patches(clip: Clip, bare: Area): Shape[] {
  const rings = ringsOf(bare);
  if (rings.length === 0) return [];
  const opened = clip.intersection(clip.grown(clip.grown(rings, -OPEN_M), OPEN_M), rings);
  return clip
    .polygons(opened)
    .map(shapeOf)
    .filter((shape) => shape.area_m2 >= SMALLEST_M2)
    .sort((a, b) => b.area_m2 - a.area_m2);
}

function shapeOf(outline: Polygon): Shape {
  return { outline, area_m2: polygonArea(outline), ...measure(outline) };
}

/**
 * Width and length of the rectangle with the same area and perimeter, m. For a bent or tapering strip
 * that is its mean width and its length along the bend. A shape more compact than a square is given as a
 * square.
 */
export function measure(outline: Polygon): { width_m: number; length_m: number } {
  const area = polygonArea(outline);
  const half = outline.reduce((sum, ring) => sum + lengthOf(thinnedRing(ring, 0.3)), 0) / 2;
  const gap = half * half - 4 * area;
  if (gap <= 0) return { width_m: Math.sqrt(area), length_m: Math.sqrt(area) };
  const length_m = (half + Math.sqrt(gap)) / 2;
  return { width_m: area / length_m, length_m };
}

/** For each patch the indices of the strips within reach of it. */
export function boundingRuns(outlines: readonly Polygon[], strips: readonly Strip[]): number[][] {
  const pieces: { owner: number; rings: readonly Ring[]; box: Box }[] = [];
  strips.forEach((s, owner) =>
    s.pieces.forEach((piece) => {
      const rings = anyRank(piece);
      pieces.push({ owner, rings, box: boxOf(rings) });
    }),
  );
  return outlines.map((outline) => {
    const box = boxOf(outline);
    const found = new Set<number>();
    for (const piece of pieces) {
      if (found.has(piece.owner) || apart(box, piece.box) > BOUNDS_M) continue;
      if (within(outline, piece.rings, BOUNDS_M)) found.add(piece.owner);
    }
    return [...found].sort((a, b) => a - b);
  });
}

/** What patches lie beside: fence, keep-outs, and the bar's lines where runs begin and end to seed. */
export class Surroundings {
  private readonly clip: Clip;
  private readonly fence: readonly Ring[];
  private readonly obstacles: readonly Ring[];
  private readonly starts: readonly Ring[];
  private readonly finishes: readonly Ring[];
  private readonly width_m: number;
  private readonly corners: readonly Ring[];
  private band: readonly Ring[] | null = null;

  constructor(clip: Clip, boundary: Area, obstacles: Area, strips: readonly Strip[]) {
    this.clip = clip;
    this.fence = boundary.map((polygon) => polygon[0]);
    this.obstacles = ringsOf(obstacles);
    this.starts = flat(strips.map((s) => (s.begin === null ? [] : [s.begin])));
    this.finishes = flat(strips.map((s) => (s.end === null ? [] : [s.end])));
    this.width_m = strips.length === 0 ? 1 : Math.max(...strips.map((s) => s.width_m));
    this.corners = flat(this.fence.map(cornersOf));
  }

  /** What sort of patch: where it lies to the fence, to keep-outs and to ends of runs. */
  kindOf(shape: Shape): PatchKind {
    const { outline, width_m, length_m } = shape;
    const start = within(outline, this.starts, 1);
    const finish = within(outline, this.finishes, 1);
    const slim = length_m > 4 * width_m;
    if (within(outline, this.obstacles, 1)) return "pocket";
    const stout = length_m < 4 * this.width_m || width_m > 0.8 * this.width_m;
    if (start === finish && stout && within(outline, this.corners, 1.5)) return "corner";
    if (slim && !(start && finish) && this.shareNearFence(outline) > 0.7) return "edge";
    if (slim && length_m > 3 * this.width_m) return "strip";
    if (start && finish) return "corner";
    if (finish && length_m < 4 * this.width_m) return "finish";
    if (start && length_m < 4 * this.width_m) return "start";
    if (slim) return "strip";
    return besideLines(outline, this.fence, 2 * this.width_m) ? "corner" : "pocket";
  }

  private shareNearFence(outline: Polygon): number {
    this.band = this.band ?? this.clip.beside(this.fence, this.width_m / 2);
    const near = this.clip.polygons(this.clip.intersection(ringsOf([outline]), this.band));
    return areaOf(near) / Math.max(polygonArea(outline), 1e-9);
  }
}

/** The corners of a fence line, each a ring of one point. */
function cornersOf(fence: Ring): Ring[] {
  const ring = thinnedRing(fence, 1);
  const n = ring.length;
  const out: Ring[] = [];
  if (n < 6) return out;
  for (let i = 0; i < n; i += 2) {
    const [before, after] = [(i + n - 2) % n, (i + 2) % n];
    const [ax, ay] = [ring[i] - ring[before], ring[i + 1] - ring[before + 1]];
    const [bx, by] = [ring[after] - ring[i], ring[after + 1] - ring[i + 1]];
    if (Math.abs(Math.atan2(ax * by - ay * bx, ax * bx + ay * by)) > CORNER_RAD) {
      out.push(ring.slice(i, i + 2));
    }
  }
  return out;
}

/** The word for a chance: sure from 0.9, likely from 0.6, else can't tell. */
export function callOf(chance: number): Call {
  if (chance >= SURE) return "sure";
  return chance >= LIKELY ? "likely" : "can't tell";
}

/**
 * Long strips parted from what is much wider than they are, largest first.
 *
 * A corner that hangs on a strip along a seam is told by the turn that bounds it, the strip only by its
 * width: together neither could be judged, and nobody could go back for one of them. Wider is more than 1.5
 * times the strip's mean width where the shape is a strip, under half of the working width `width_m`; else
 * more than half of that, where what is left has such a strip.
 */
export function parted(clip: Clip, shapes: readonly Shape[], width_m: number): Shape[] {
  const strip = (shape: Shape): boolean => shape.length_m >= LONG_M && shape.width_m < width_m / 2;
  const all = shapes.map((shape) => {
    if (shape.length_m < LONG_M) return [shape];
    if (strip(shape)) return wideApart(clip, shape, (WIDER / 2) * shape.width_m);
    const pieces = wideApart(clip, shape, width_m / 4);
    return pieces.some(strip) ? pieces : [shape];
  });
  return flat(all).sort((a, b) => b.area_m2 - a.area_m2);
}

/** What of a shape is wider than twice `reach`, m, and the patches of the rest. */
function wideApart(clip: Clip, shape: Shape, reach: number): Shape[] {
  const whole = ringsOf([shape.outline]);
  const inner = clip.grown(whole, -reach).map((ring) => thinnedRing(ring, ROUNDED_M));
  const wide = clip
    .polygons(clip.intersection(clip.grown(inner, 1.02 * reach, "mitred"), whole))
    .filter((polygon) => polygonArea(polygon) >= WIDE_M2);
  if (wide.length === 0) return [shape];
  const rest = clip.polygons(clip.difference(whole, ringsOf(wide)));
  return [...wide.map(shapeOf), ...patches(clip, rest)];
}

/**
 * The most that may be said of a long strip, whatever the draws say.
 *
 * A constant gap along a whole seam is a lost furrow or drift. By Bayes' rule its odds are those beforehand
 * (one seam in a hundred, the gap of any size up to W) times 1/W over the normal density of w − 0.3 m with
 * spread 0.6 g: settling leaves a part of what drift alone would do. Short patches are bounded by turns and
 * ends of runs and are not held down.
 *
 * `gap_m` is g, the constant gap that drift alone leaves along the patch's length, one sigma, 0 where the
 * picture was not settled; `width_m` is the working width W.
 */
export function stripChance(shape: Shape, gap_m: number, width_m: number): number {
  if (shape.length_m < LONG_M || gap_m <= 0) return 1;
  const left = LEFT * gap_m;
  const off = Math.max(shape.width_m - 0.3, 0) / left;
  const times = Math.log((left * Math.sqrt(2 * Math.PI)) / width_m) + off ** 2 / 2;
  const odds = Math.log(FURROW / (1 - FURROW)) + times;
  return 1 / (1 + Math.exp(-Math.min(Math.max(odds, -50), 50)));
}

/**
 * A point well inside a polygon: the middle of the widest stretch across it, on a line halfway up that
 * goes through no corner.
 */
export function inside(outline: Polygon): [number, number] {
  const box = boxOf(outline);
  const middle = (box.south + box.north) / 2;
  let [below, above] = [box.south, box.north];
  for (const ring of outline) {
    for (let i = 1; i < ring.length; i += 2) {
      if (ring[i] <= middle && ring[i] > below) below = ring[i];
      if (ring[i] > middle && ring[i] < above) above = ring[i];
    }
  }
  const y = (below + above) / 2;
  const cuts: number[] = [];
  for (const ring of outline) {
    const n = ring.length;
    for (let i = 0, j = n - 2; i < n; j = i, i += 2) {
      if (ring[j + 1] > y === ring[i + 1] > y) continue;
      const part = (y - ring[j + 1]) / (ring[i + 1] - ring[j + 1]);
      cuts.push(ring[j] + part * (ring[i] - ring[j]));
    }
  }
  cuts.sort((a, b) => a - b);
  let widest = 0;
  for (let k = 2; k + 1 < cuts.length; k += 2) {
    if (cuts[k + 1] - cuts[k] > cuts[widest + 1] - cuts[widest]) widest = k;
  }
  return [(cuts[widest] + cuts[widest + 1]) / 2, y];
}
