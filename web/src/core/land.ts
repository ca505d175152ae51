// The paddock on its plane: boundary, keep-outs of the day, ground out of reach.
import type { Clip } from "./clip";
import { hypot, median } from "./columns";
import { flat } from "./cover";
import { UnsownError } from "./errors";
import { type Lap, firstLap } from "./lap";
import type { Leg } from "./legs";
import { Plane } from "./plane";
import { holds, nearest, ringsOf } from "./rings";
import type { Area, Fixes, Paddock, Rig, Ring, Run } from "./words";

/** No fix nearer than this to the paddock: they do not belong together, m. */
const [FAR_M, NEAR_M] = [200, 2000];
/** A lone fix further from the others than this does not widen the plane, m. */
const CLOSE_M = 20_000;

/**
 * The paddock's ground on the plane, as rings of areas. `surveyed` is the
 * boundary where it is not from this day's lap, else null.
 */
export interface Land {
  readonly boundary: readonly Ring[];
  readonly keepOut: readonly Ring[];
  readonly unreachable: readonly Ring[];
  readonly surveyed: Area | null;
}

/** The paddock's plane; refuses a track that lies elsewhere (UnsownError `track-elsewhere`). */
export function planeOf(paddock: Paddock, fixes: Fixes): Plane {
  const { lon_deg, lat_deg } = fixes;
  if (paddock.area === null) {
    const near = new Plane(median(lat_deg), median(lon_deg));
    const close: number[] = [];
    lon_deg.forEach((lon, i) => {
      if (hypot(...near.point(lon, lat_deg[i])) < CLOSE_M) close.push(i);
    });
    const some = (a: Float64Array): number[] => close.map((i) => a[i]);
    return Plane.around(some(lon_deg), some(lat_deg));
  }
  const corners = flat(flat(paddock.area).map((ring) => Array.from(ring)));
  const half = (k: number): number[] => corners.filter((_, i) => i % 2 === k);
  const plane = Plane.around(half(0), half(1));
  const ground = flat(plane.areaToXy(paddock.area));
  const away = distance(ground, fixes, (i) => plane.point(lon_deg[i], lat_deg[i]));
  if (away <= FAR_M) return plane;
  const swapped = distance(ground, fixes, (i) =>
    plane.point(lat_deg[i], Math.min(Math.max(lon_deg[i], -90), 90)),
  );
  throw new UnsownError(
    "track-elsewhere",
    `expected a track in paddock '${paddock.name}', but its nearest fix is` +
      ` ${(away / 1000).toFixed(1)} km away`,
    {
      hint:
        swapped < NEAR_M
          ? "Latitude and longitude look swapped in one of the two."
          : "Give the track and the paddock of the same place.",
    },
  );
}

/** Distance from the nearest fix to the paddock, metres. */
function distance(
  ground: readonly Ring[],
  fixes: Fixes,
  place: (i: number) => [number, number],
): number {
  const n = fixes.t_ms.length;
  const ok = (i: number): boolean =>
    Number.isFinite(fixes.lon_deg[i]) && Number.isFinite(fixes.lat_deg[i]);
  for (let i = 0; i < n; i += 50) if (ok(i) && holds(ground, ...place(i))) return 0;
  let least = Infinity;
  for (let i = 0; i < n; i++) {
    if (!ok(i)) continue;
    const [x, y] = place(i);
    if (holds(ground, x, y)) return 0;
    least = Math.min(least, nearest(ground, x, y).distance);
  }
  return least;
}

/**
 * The day's land: keep-outs that hold at `now_ms`, the boundary from the file or from a lap. Of a log of
 * several days that is its newest moment: a wet patch of Monday that is dry on Friday is paddock again.
 */
export function landOf(
  clip: Clip,
  paddock: Paddock,
  plane: Plane,
  now_ms: number,
  lap: Lap | null,
): Land {
  const reach: Ring[] = [];
  const outs: Ring[] = [];
  for (const k of paddock.keep_outs) {
    if ((k.from_ms !== null && now_ms < k.from_ms) || (k.until_ms !== null && now_ms > k.until_ms)) {
      continue;
    }
    (k.kind === "unreachable" ? reach : outs).push(...ringsOf(plane.areaToXy(k.area)));
  }
  let boundary: Ring[];
  if (lap !== null) {
    boundary = clip.union([lap.fence]);
    reach.push(...lap.unreachable);
  } else boundary = clip.union(ringsOf(plane.areaToXy(paddock.area ?? [])));
  const surveyed = lap === null && paddock.boundary === "survey" ? clip.polygons(boundary) : null;
  const keepOut = clip.intersection(clip.union(outs), boundary);
  return { boundary, keepOut, unreachable: clip.union(reach), surveyed };
}

/**
 * The first lap from the first run on, by the phone that saw it.
 *
 * Throws UnsownError `lap-none` where the tool was never down or nothing was seen then.
 */
export function drivenLap(
  clip: Clip,
  legs: readonly Leg[],
  runs: readonly Run[],
  rigs: readonly Rig[],
  clearance_m: number,
): Lap {
  const first = runs[0];
  if (first === undefined) {
    const message = "expected a first lap with the tool down, but it was never down";
    throw new UnsownError("lap-none", message);
  }
  const { tool } = rigs[first.rig];
  const middle = (tool.front_rank_m + tool.rear_rank_m) / 2;
  for (const leg of legs) {
    if (leg.outfit !== first.outfit) continue;
    const path = leg.trails[first.rig];
    const from = path.t_s.findIndex((t) => t >= first.down_s);
    if (from < 0 || path.t_s.length - from <= 2) continue;
    const heading = path.heading_rad.subarray(from);
    const lap = {
      t_s: path.t_s.subarray(from),
      x_m: path.x_m.subarray(from).map((x, i) => x + middle * Math.cos(heading[i])),
      y_m: path.y_m.subarray(from).map((y, i) => y + middle * Math.sin(heading[i])),
    };
    return firstLap(clip, lap, tool.width_m, clearance_m);
  }
  const message = "expected a track of the first lap, but there are no fixes in it";
  throw new UnsownError("lap-none", message);
}
