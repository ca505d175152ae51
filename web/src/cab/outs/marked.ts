// Keep-outs that were marked on this phone: `mark` entries that say how far round they reach, or their ring.
import { Plane } from "../../core/plane";
import type { KeepOut, Mark, Ring } from "../../core/words";

const CORNERS = 24;
/** What a mark has to say to be a keep-out, beside its place: its radius. */
export const KEEP_OUT = "keep-out";

/** A circle or its ring for each; a wet patch holds until its date. Wires and other lines are two marks at home. */
export function outsMarked(marks: readonly Mark[]): KeepOut[] {
  const out: KeepOut[] = [];
  for (const { kind, says, t_ms } of marks) {
    const { what, note, until_ms } = says;
    if (kind !== "mark" || note !== KEEP_OUT || typeof what !== "string") continue;
    const ring = ringOf(says["ring"]) ?? circleOf(says);
    if (ring === null) continue;
    out.push({
      kind: what,
      area: [[ring]],
      name: "",
      hazard: HAZARDS.indexOf(what) >= 0,
      from_ms: typeof until_ms === "number" ? t_ms - DAY_MS : null,
      until_ms: typeof until_ms === "number" ? until_ms : null,
    });
  }
  return out;
}

export const HAZARDS: readonly string[] = ["wire", "hole"];
const DAY_MS = 86_400_000;

/** Corners in longitude and latitude; null where they are none. */
export function ringOf(value: unknown): Ring | null {
  if (!Array.isArray(value) || value.length < 3) return null;
  const flat = (value as unknown[]).reduce<unknown[]>((all, corner) => all.concat(Array.isArray(corner) && corner.length === 2 ? corner : Number.NaN), []);
  return flat.every((each) => typeof each === "number" && Number.isFinite(each)) ? Float64Array.from(flat as number[]) : null;
}

function circleOf({ lat_deg, lon_deg, radius_m }: Mark["says"]): Ring | null {
  if (typeof lat_deg !== "number" || typeof lon_deg !== "number" || typeof radius_m !== "number" || !(radius_m > 0)) return null;
  return round(lon_deg, lat_deg, radius_m);
}

/** A circle in longitude and latitude, anticlockwise. */
function round(lon_deg: number, lat_deg: number, radius_m: number): Ring {
  const plane = new Plane(lat_deg, lon_deg);
  const ring = new Float64Array(2 * CORNERS);
  for (let k = 0; k < CORNERS; k++) {
    const angle = (2 * Math.PI * k) / CORNERS;
    ring.set(plane.degrees(radius_m * Math.cos(angle), radius_m * Math.sin(angle)), 2 * k);
  }
  return ring;
}
