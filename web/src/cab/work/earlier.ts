// Ground of earlier days and of other phones, as the farm pack has it, on the plane of the live picture.
import type { Plane } from "../../core/plane";
import type { Ring } from "../../core/words";
import type { PackPaddock } from "../../carry/pack";
import type { Before } from "./view";

/** The rings of a state of ground in what home knew, from the pack's own features. */
export function earlier(paddocks: readonly Pick<PackPaddock, "ground">[], state: Before, plane: Plane): Ring[] {
  const out: Ring[] = [];
  for (const { ground } of paddocks) {
    for (const { geometry, properties } of ground?.features ?? []) {
      if (properties["state"] !== state) continue;
      const polygons = (geometry.type === "Polygon" ? [geometry.coordinates] : geometry.coordinates) as readonly (readonly (readonly number[])[])[][];
      for (const polygon of polygons) {
        for (const ring of polygon) out.push(onto(plane, ring.reduce<number[]>((all, point) => all.concat(point[0] ?? 0, point[1] ?? 0), [])));
      }
    }
  }
  return out;
}

/** Longitudes and latitudes, one after the other, on a plane. */
export function onto(plane: Plane, ring: ArrayLike<number>): Ring {
  const out = new Float64Array(ring.length);
  for (let i = 0; i + 1 < ring.length; i += 2) out.set(plane.point(ring[i] ?? 0, ring[i + 1] ?? 0), i);
  return out;
}
