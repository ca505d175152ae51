// Going back as a whole: from a computed day to what is worth it, now and from outside later. Ground that was
// simply not reached yet is no reason to go back: it is sown anyway.
import { beside, fieldOf, plans, reach } from "./aim";
import type { Clip } from "./clip";
import { hypot } from "./columns";
import type { Pose } from "./dubins";
import { notReached } from "./handover";
import type { Prices } from "./price";
import { areaOf, holds, nearest, ringsOf } from "./rings";
import { centroid } from "./swath";
import type { Area, Floats, Polygon, Rig, Tally } from "./words";
import { type Worth, weighed } from "./worth";

/** Where no run tells a working speed, m/s. */
const USUAL_M_S = 2;
/** More patches than this are not all weighed: the largest are. */
const MOST = 60;

/** What to go back for: at once, and as a trip of its own on another day; null: nothing to weigh. */
export interface Back {
  readonly now: Worth;
  /** Its `net` has the road and the folding taken off, and its way begins and ends at the gate. */
  readonly later: Worth;
  readonly speed_m_s: number;
}

/**
 * What a day asks to go back for, with the rig that sowed last. `gate` is where one leaves; `trip_s` folding,
 * the road there and back, unfolding; `standing` where the tractor's rear axle is now, null: where its last
 * run ended.
 */
export function back(tally: Tally, rigs: readonly Rig[], prices: Prices, gate: readonly [number, number], trip_s: number, standing: Pose | null, clip: Clip): Back | null {
  const { net, keep_out, bare } = tally.ground;
  const rest = notReached(tally.patches, areaOf(net));
  const loose = tally.patches.filter((patch) => rest.indexOf(patch) < 0);
  const patches = loose.sort((a, b) => b.area_m2 - a.area_m2).slice(0, MOST).sort((a, b) => a.number - b.number);
  if (patches.length === 0) return null;
  let rig = rigs[0];
  let up_s = -Infinity;
  for (const run of tally.runs) if (run.up_s > run.down_s && run.up_s > up_s) [rig, up_s] = [rigs[run.rig], run.up_s];
  const r = reach(rig);
  const whole = wholeOf(net, keep_out, clip);
  const field = fieldOf(clip, whole, keep_out, bare, r);
  const tried = plans(patches, beside(patches, tally.ways), field, r);
  const here = { start: standing ?? stopped(tally, r.ahead_m) ?? [...gate, 0] as const, gate, speed_m_s: speedOf(tally), road_s: 0 };
  const [x, y] = centroid(whole);
  const into = Math.atan2(y - gate[1], x - gate[0]);
  const outside = { ...here, start: [...gate, into] as const, road_s: trip_s };
  return {
    now: weighed(patches, tried, field, r, prices, here, clip),
    later: weighed(patches, tried, field, r, prices, outside, clip),
    speed_m_s: here.speed_m_s,
  };
}

/** The ground inside the fence, with all that lies in it. */
export function wholeOf(net: Area, keep_out: Area, clip: Clip): Area {
  return clip.polygons(clip.union(ringsOf([...net, ...keep_out]))).map((polygon): Polygon => polygon.slice(0, 1));
}

/** The mean working speed, m/s; a usual one where none was driven. */
export function speedOf({ runs, down_km }: Pick<Tally, "runs" | "down_km">): number {
  const down_s = runs.reduce((sum, run) => sum + Math.max(run.up_s - run.down_s, 0), 0);
  return down_km > 0 && down_s > 0 ? (down_km * 1000) / down_s : USUAL_M_S;
}

/**
 * Where one leaves: of the gates that are set, x and y on the plane, the one nearest to where the rig came in, else
 * where that was; as the point of the fence nearest to it.
 */
export function gateOf(boundary: Area, x_m: Floats, y_m: Floats, gates: readonly (readonly [number, number])[] = []): readonly [number, number] {
  const rings = ringsOf(boundary);
  let at = centroid(boundary);
  for (let i = 0; i < x_m.length; i++) {
    if (!holds(rings, x_m[i], y_m[i])) continue;
    at = [x_m[i], y_m[i]];
    break;
  }
  const off = ([x, y]: readonly [number, number]): number => hypot(x - at[0], y - at[1]);
  const [set = at] = gates.slice().sort((a, b) => off(a) - off(b));
  const met = nearest(rings, ...set);
  return [met.x, met.y];
}

/** The tractor's rear axle where the last run ended; null where there was none. */
function stopped({ ways }: Tally, ahead_m: number): Pose | null {
  let [pose, last_s]: [Pose | null, number] = [null, -Infinity];
  for (const { t_s, x_m, y_m, heading_rad } of ways) {
    const at = t_s.length - 1;
    if (at < 0 || t_s[at] <= last_s) continue;
    const heading = heading_rad[at];
    pose = [x_m[at] + ahead_m * Math.cos(heading), y_m[at] + ahead_m * Math.sin(heading), heading];
    last_s = t_s[at];
  }
  return pose;
}
