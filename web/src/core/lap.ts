// The paddock's boundary from the first driven lap.
//
// The sown edge is the path of the bar's middle pushed out by half a width; the fence lies a clearance
// beyond it. A rounded track cannot show a true corner: long straight sides are fitted and met, and the
// ground between the met corner and what the tool can reach is unreachable, as is the clearance itself.
// Unreachable ground is counted apart, never listed as missed.
import type { Clip } from "./clip";
import { UnsownError } from "./errors";
import { holds, nearest, polygonArea, signedArea, thinnedRing } from "./rings";
import type { Floats, Polygon, Ring } from "./words";

/** A lap is closed within this many widths of its start, and is longer than this, m. */
const CLOSE_WIDTHS = 2;
const SHORTEST_M = 300;
/** Sides are fitted within this, merged below this bend, and used from this length, m and rad. */
const FIT_M = 2;
const STRAIGHT_RAD = (6 * Math.PI) / 180;
const SIDE_M = 40;
const CORNER_M = 25;
/** Sides meet in a corner from this bend, and are fitted without this much at each end, rad and m. */
const BEND_RAD = (25 * Math.PI) / 180;
const TRIM_M = 30;
/** They reach as far as the fence keeps within this of them, m. */
const ON_LINE_M = 0.05;
/** The fence is walked in steps of this, m; the lap is thinned to this, m. */
const STEP_M = 2;
const THIN_M = 0.05;

/** A boundary from a lap on the paddock's plane: the fence line, and unreachable ground as rings. */
export interface Lap {
  readonly fence: Ring;
  readonly unreachable: readonly Ring[];
  readonly from_s: number;
  readonly to_s: number;
}

type Point = readonly [number, number];
type Side = readonly [Point, Point];

/**
 * The boundary round the first closed lap of the bar's middle from the first lowering on. `width_m` is
 * the working width, `clearance_m` from the tool's outer end to the fence.
 *
 * Throws UnsownError `lap-open` where no closed lap was driven.
 */
export function firstLap(
  clip: Clip,
  path: { readonly t_s: Floats; readonly x_m: Floats; readonly y_m: Floats },
  width_m: number,
  clearance_m: number,
): Lap {
  const end = closing(path.x_m, path.y_m, width_m);
  const driven = new Float64Array(2 * (end + 1));
  for (let i = 0; i <= end; i++) driven.set([path.x_m[i], path.y_m[i]], 2 * i);
  const middle = largest(clip, [thinnedRing(driven, THIN_M)])[0];
  const edge = clip.grown([middle], width_m / 2, "mitred");
  const fence = largest(clip, clip.grown(edge, clearance_m, "mitred"))[0];
  const sharp = largest(clip, [fence, ...metCorners(clip, fence)])[0];
  return {
    fence: sharp,
    unreachable: clip.difference([sharp], edge),
    from_s: path.t_s[0],
    to_s: path.t_s[end],
  };
}

/** The largest polygon of all the ground that some rings go round, whichever way they run. */
function largest(clip: Clip, rings: readonly Ring[]): Polygon {
  return clip
    .polygons(clip.union(rings))
    .reduce((best, one) => (polygonArea(one) > polygonArea(best) ? one : best));
}

/** Index at which the path first comes back to its start. */
function closing(x: Floats, y: Floats, width_m: number): number {
  const home = (i: number): number => Math.hypot(x[i] - x[0], y[i] - y[0]);
  let way = 0;
  for (let i = 1; i < x.length; i++) {
    way += Math.hypot(x[i] - x[i - 1], y[i] - y[i - 1]);
    if (!(way > SHORTEST_M && home(i) < CLOSE_WIDTHS * width_m)) continue;
    let last = i;
    while (last + 1 < x.length && home(last + 1) < home(last)) last += 1;
    return last;
  }
  throw new UnsownError(
    "lap-open",
    `expected a first lap that closes within ${(CLOSE_WIDTHS * width_m).toFixed(0)} m of its start` +
      ` after more than ${SHORTEST_M} m, but the track never comes back`,
    { hint: "Give the paddock as a file, or a track that begins with the whole lap." },
  );
}

/**
 * The wedges that the fence's long straight sides, prolonged until they meet, add to it where that is
 * nearby. Sides are found by thinning and fitted to their middle parts, away from the round corners. A
 * bend of less than BEND_RAD rounds off under a square metre: a curved side has no corners.
 */
function metCorners(clip: Clip, fence: Ring): Ring[] {
  const dense = segmented(fence, STEP_M);
  const sides: Side[] = [];
  const at = merged(dense, thinnedPlaces(dense));
  at.forEach((first, k) => {
    const last = at[(k + 1) % at.length];
    const count = ((last - first + dense.length) % dense.length) + 1;
    const points = Array.from({ length: count }, (_, i) => dense[(first + i) % dense.length]);
    if (gap(points[0], points[count - 1]) >= SIDE_M) sides.push(fitted(points));
  });
  const wedges: Ring[] = [];
  sides.forEach((side, k) => {
    const next = sides[(k + 1) % sides.length];
    const met = meeting(side, next);
    if (met === null || Math.abs(bendOf(...side, ...next)) < BEND_RAD) return;
    if (nearest([fence], ...met).distance >= CORNER_M || holds([fence], ...met)) return;
    const wedge = Float64Array.of(...side[1], ...met, ...next[0]);
    const size = signedArea(wedge);
    if (size === 0) return;
    wedges.push(...clip.grown(clip.union([wedge]), 0.01));
  });
  return wedges;
}

/** The ring's corners with points put between them so that none are further apart than `step_m`. */
function segmented(ring: Ring, step_m: number): Point[] {
  const out: Point[] = [];
  for (let i = 0; i < ring.length; i += 2) {
    const j = (i + 2) % ring.length;
    const [dx, dy] = [ring[j] - ring[i], ring[j + 1] - ring[i + 1]];
    const parts = Math.max(Math.ceil(Math.hypot(dx, dy) / step_m), 1);
    for (let k = 0; k < parts; k++) {
      out.push([ring[i] + (k / parts) * dx, ring[i + 1] + (k / parts) * dy]);
    }
  }
  return out;
}

/** Places of the points that stand for the others within FIT_M. */
function thinnedPlaces(dense: readonly Point[]): number[] {
  const flat = new Float64Array(2 * dense.length);
  dense.forEach((p, i) => flat.set(p, 2 * i));
  const ring = thinnedRing(flat, FIT_M);
  const out: number[] = [];
  for (let i = 0, k = 0; i < dense.length && k < ring.length; i++) {
    if (dense[i][0] !== ring[k] || dense[i][1] !== ring[k + 1]) continue;
    out.push(i);
    k += 2;
  }
  return out;
}

/** The places without those at which the ring hardly bends, the flattest first. */
function merged(dense: readonly Point[], places: readonly number[]): number[] {
  const at = [...places];
  while (at.length > 3) {
    const bends = at.map((here, k) => {
      const before = dense[at[(k + at.length - 1) % at.length]];
      return Math.abs(bendOf(before, dense[here], dense[here], dense[at[(k + 1) % at.length]]));
    });
    const least = Math.min(...bends);
    if (!(least < STRAIGHT_RAD)) break;
    at.splice(bends.indexOf(least), 1);
  }
  return at;
}

/** A side's line from its first to its last point that lies on it. */
function fitted(points: readonly Point[]): Side {
  const [first, last] = [points[0], points[points.length - 1]];
  const trim = Math.min(TRIM_M, 0.25 * gap(first, last));
  const inner = (p: Point): boolean => gap(p, first) >= trim && gap(p, last) >= trim;
  const middle = points.filter(inner);
  const cx = middle.reduce((sum, p) => sum + p[0], 0) / middle.length;
  const cy = middle.reduce((sum, p) => sum + p[1], 0) / middle.length;
  let [xx, xy, yy] = [0, 0, 0];
  for (const [x, y] of middle) {
    xx += (x - cx) ** 2;
    xy += (x - cx) * (y - cy);
    yy += (y - cy) ** 2;
  }
  const angle = Math.atan2(2 * xy, xx - yy) / 2;
  let [wx, wy] = [Math.cos(angle), Math.sin(angle)];
  if (wx * (last[0] - first[0]) + wy * (last[1] - first[1]) < 0) [wx, wy] = [-wx, -wy];
  const off = (p: Point): number => Math.abs((p[1] - cy) * wx - (p[0] - cx) * wy);
  const reach = Math.max(...middle.map(off), ON_LINE_M);
  const along = points
    .filter((p) => off(p) <= reach)
    .map((p) => (p[0] - cx) * wx + (p[1] - cy) * wy);
  const place = (a: number): Point => [cx + a * wx, cy + a * wy];
  return [place(Math.min(...along)), place(Math.max(...along))];
}

/** Where a side, prolonged forward, meets the next one prolonged back. */
function meeting([a0, a1]: Side, [b0, b1]: Side): [number, number] | null {
  const [ax, ay, bx, by] = [a1[0] - a0[0], a1[1] - a0[1], b1[0] - b0[0], b1[1] - b0[1]];
  const cross = ax * by - ay * bx;
  if (Math.abs(cross) < 1e-9 * Math.hypot(ax, ay) * Math.hypot(bx, by)) return null;
  const [dx, dy] = [b0[0] - a0[0], b0[1] - a0[1]];
  const ahead = (dx * by - dy * bx) / cross;
  const behind = (dx * ay - dy * ax) / cross;
  if (ahead < 1 || behind > 0) return null;
  return [a0[0] + ahead * ax, a0[1] + ahead * ay];
}

/** The turn from the line p to q into the line r to s, rad. */
function bendOf(p: Point, q: Point, r: Point, s: Point): number {
  const [ax, ay, bx, by] = [q[0] - p[0], q[1] - p[1], s[0] - r[0], s[1] - r[1]];
  return Math.atan2(ax * by - ay * bx, ax * bx + ay * by);
}

function gap(p: Point, q: Point): number {
  return Math.hypot(p[0] - q[0], p[1] - q[1]);
}
