// A first answer from the grid, while the day is being computed: what was painted on the way, or the
// taps painted anew where this page saw nothing of it.
import { type Glance, glance } from "../core/glance";
import { LiveGrid, quadsAlong } from "../core/grid";
import { legsOf } from "../core/legs";
import { rigAt, timeRuns, type Pair } from "../core/lever";
import { Plane } from "../core/plane";
import { ringsOf } from "../core/rings";
import { posesBetween } from "../core/sweep";
import { tapped } from "../core/told";
import type { Log, Paddock, Rig } from "../core/words";
import type { First, Painted } from "./sums";

/** What a painted grid leaves bare of a paddock; null where it was painted elsewhere. */
export function atOnce(painted: Painted, land: Paddock): First | null {
  if (land.area === null) return null;
  const plane = new Plane(painted.lat0_deg, painted.lon0_deg);
  return firstOf(glance({ all: () => painted.tiles }, netOf(land, plane)));
}

/** The same from a log of one phone: every tap as it was made, nothing settled, nothing doubted. */
export function anew(log: Log, land: Paddock, rigs: readonly Rig[], plane: Plane): First | null {
  if (land.area === null || log.fixes.t_ms.length < 2 || rigs.length === 0) return null;
  const t0_ms = log.fixes.t_ms.reduce((least, t) => Math.min(least, t), Infinity);
  const grid = new LiveGrid();
  const { legs } = legsOf(log.fixes, plane, rigs, t0_ms);
  const taps = tapped(log.marks, t0_ms);
  const pairs: Pair[] = [];
  taps.forEach(({ t_s, down }, i) => {
    const next = taps[i + 1];
    if (down && next !== undefined && !next.down) pairs.push([t0_ms + t_s * 1000, t0_ms + next.t_s * 1000]);
  });
  const [leg] = legs;
  if (leg === undefined) return null;
  for (const run of timeRuns(pairs, rigs, t0_ms)) {
    const at = rigAt(rigs, t0_ms + run.down_s * 1000);
    const [rig, trail] = [rigs[at], leg.trails[at]];
    if (rig === undefined || trail === undefined) continue;
    for (const poses of posesBetween(trail, run.on_s, run.off_s)) {
      const quads = quadsAlong(poses, rig.tool);
      for (let k = 0; 8 * k < quads.length; k++) {
        grid.paint(quads.subarray(8 * k, 8 * k + 8), {
          run: run.number,
          t_s: poses.t_s[k] ?? 0,
          way_m: poses.path_m[k] ?? 0,
          width_m: rig.tool.width_m,
        });
      }
    }
  }
  return firstOf(glance(grid, netOf(land, plane)));
}

function netOf(land: Paddock, plane: Plane): Float64Array[] {
  const outs = land.keep_outs.map((out) => ringsOf(plane.areaToXy(out.area)));
  return [...ringsOf(plane.areaToXy(land.area ?? [])), ...outs.reduce((all, rings) => all.concat(rings), [])];
}

const firstOf = ({ net_m2, bare_m2, parts }: Glance): First => ({ net_m2, bare_m2, parts: parts.length });
