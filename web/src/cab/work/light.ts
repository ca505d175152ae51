// Day or night, by the sun over the paddock; never changed while the tractor turns.
import { isNight } from "../../core/sun";

export type Light = "day" | "night";

const TURN_RAD_S = 0.05;

/** The light that should be: what it was, while it turns or nobody knows where it is. */
export function lightFor(before: Light, at: { t_ms: number; lat_deg: number; lon_deg: number } | null, turn_rad_s: number): Light {
  if (at === null || Math.abs(turn_rad_s) > TURN_RAD_S) return before;
  return isNight(at.t_ms, at.lat_deg, at.lon_deg) ? "night" : "day";
}

/** Puts a light on the whole page. */
export function light(now: Light): void {
  document.documentElement.dataset["light"] = now;
  const bar = document.querySelector('meta[name="theme-color"]');
  bar?.setAttribute("content", now === "night" ? "#0b0c0e" : "#ffffff");
}
