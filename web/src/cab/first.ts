// A first answer from the grid, while the day is being computed: what was painted on the way, or the
// taps painted anew where this page saw nothing of it.
import { glance } from "../core/glance";
import { Plane } from "../core/plane";
import { ringsOf } from "../core/rings";
import type { Log, Paddock, Rig } from "../core/words";
import { relive } from "./relive";
import type { First, Painted } from "./sums";

/** What a painted grid leaves bare of a paddock; null where it was painted elsewhere. */
export function atOnce(painted: Painted, land: Paddock): First | null {
  if (land.area === null) return null;
  const plane = new Plane(painted.lat0_deg, painted.lon0_deg);
  return glance({ all: () => painted.tiles }, netOf(land, plane));
}

/** The same from a log of one phone: painted as it would have been on the way. */
export function anew(log: Log, land: Paddock, rigs: readonly Rig[], plane: Plane): First | null {
  if (land.area === null || rigs.length === 0) return null;
  const slices = relive(log, log.fixes.phones, { rigs, fenceOn: () => null }, plane, log.fixes.t_ms[0] ?? 0);
  let slice = slices.next();
  while (slice.done !== true) slice = slices.next();
  return glance(slice.value.grid, netOf(land, plane));
}

function netOf(land: Paddock, plane: Plane): Float64Array[] {
  const outs = land.keep_outs.map((out) => ringsOf(plane.areaToXy(out.area)));
  return [...ringsOf(plane.areaToXy(land.area ?? [])), ...outs.reduce((all, rings) => all.concat(rings), [])];
}
