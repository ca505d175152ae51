// Numbers as people say them: hectares or acres, and never finer than was measured.
// The same rules as server/unsown/formats/units.py.

/** The international acre and foot, exact by definition (1959 yard and pound agreement). */
export const ACRE_M2 = 4046.8564224;
export const FOOT_M = 0.3048;

export type AreaUnit = "ha" | "ac";

/** A paddock-sized area to 0.01, such as `61.40 ha`. */
export function area(ha: number, unit: AreaUnit): string {
  const shown = (unit === "ac" ? (ha * 10_000) / ACRE_M2 : ha).toFixed(2);
  return `${shown === "-0.00" ? "0.00" : shown} ${unit}`;
}

/** An area that is not known to 0.01: to 0.1, from 100 on to 1, such as `6.4 ha`. */
export function rough(ha: number, unit: AreaUnit): string {
  const value = unit === "ac" ? (ha * 10_000) / ACRE_M2 : ha;
  return `${value.toFixed(value >= 99.95 ? 0 : 1)} ${unit}`;
}

/** A few metres to 0.1, or feet to 1, such as `1.4 m`. */
export const pace = (metres: number, unit: AreaUnit): string =>
  unit === "ac" ? `${(metres / FOOT_M).toFixed(0)} ft` : `${metres.toFixed(1)} m`;

/** A patch to two figures, such as `290 m²` or `0.072 ac`; `0.67 ha` when large. */
export function size(m2: number, unit: AreaUnit): string {
  if (unit === "ac") return `${figures(m2 / ACRE_M2)} ac`;
  return m2 >= 5_000 ? `${(m2 / 10_000).toFixed(2)} ha` : `${figures(m2)} m²`;
}

/** A distance as a driver would pace it: to 1, 5 or 10 m (or feet). */
export function distance(metres: number, unit: AreaUnit): string {
  const value = unit === "ac" ? metres / FOOT_M : metres;
  const step = value < 20 ? 1 : value < 100 ? 5 : 10;
  return `${Math.round(value / step) * step} ${unit === "ac" ? "ft" : "m"}`;
}

/** A driven distance to 0.1 km or mile. */
export const road = (km: number, unit: AreaUnit): string =>
  unit === "ac" ? `${(km / 1.609344).toFixed(1)} mi` : `${km.toFixed(1)} km`;

/** A driving speed to 0.1 km/h or mph, from metres a second. */
export function speed(metresASecond: number, unit: AreaUnit): string {
  return unit === "ac"
    ? `${((metresASecond * 3.6) / 1.609344).toFixed(1)} mph`
    : `${(metresASecond * 3.6).toFixed(1)} km/h`;
}

function figures(value: number, count = 2): string {
  if (!(value > 0) || !Number.isFinite(value)) return "0";
  const places = count - 1 - Math.floor(Math.log10(value));
  const scale = 10 ** places;
  return (Math.round(value * scale) / scale).toFixed(Math.max(places, 0));
}
