// Where the sun is: without a network.
//
// Low-precision solar coordinates of the Astronomical Almanac (U.S. Naval Observatory, "Approximate
// Solar Coordinates"): about 0.01° between 1950 and 2050. Times are UTC milliseconds.
import { modulo } from "./columns";

const DAY_MS = 86_400_000;
const J2000_MS = 946_728_000_000; // 2000-01-01 12:00
const RAD = Math.PI / 180;
/** Height of the sun's middle at civil dusk, degrees. */
export const CIVIL_DEG = -6;

/** Height of the sun's middle above the horizon, degrees; refraction not counted. */
export function heightDeg(t_ms: number, lat_deg: number, lon_deg: number): number {
  const d = (t_ms - J2000_MS) / DAY_MS;
  const g = (357.529 + 0.98560028 * d) * RAD;
  const longitude = (280.459 + 0.98564736 * d + 1.915 * Math.sin(g) + 0.02 * Math.sin(2 * g)) * RAD;
  const tilt = (23.439 - 0.00000036 * d) * RAD;
  const ascension = Math.atan2(Math.cos(tilt) * Math.sin(longitude), Math.cos(longitude));
  const declination = Math.asin(Math.sin(tilt) * Math.sin(longitude));
  const sidereal = modulo(280.46061837 + 360.98564737 * d, 360);
  const hour = (sidereal + lon_deg) * RAD - ascension;
  const lat = lat_deg * RAD;
  const sine =
    Math.sin(lat) * Math.sin(declination) +
    Math.cos(lat) * Math.cos(declination) * Math.cos(hour);
  return Math.asin(Math.min(Math.max(sine, -1), 1)) / RAD;
}

/** Whether the sun is below civil dusk: too dark to see the ground without lamps. */
export function isNight(t_ms: number, lat_deg: number, lon_deg: number): boolean {
  return heightDeg(t_ms, lat_deg, lon_deg) < CIVIL_DEG;
}
