// Diesel: litres an hour and a hectare, where the farm's own are not known yet. Any such figure is off by a third
// for one tractor or another (AgDM A3-27, Iowa State University Extension: ± 35 %).

/** How far off a figure for an operation may be, part. */
export const SPREAD = 0.35;

/** Over all the work of a year, L/h: 0.223 of the PTO power in kW (ASAE EP496.3, by R. Grisso). */
export const averageLH = (pto_kw: number): number => 0.223 * pto_kw;

/** At full throttle and a part of the power, 0 to 1, L/h: Grisso, Kocher and Vaughan 2004, coefficients from memory. */
export const atLoadLH = (pto_kw: number, load: number): number => (0.22 * load + 0.096) * pto_kw;

/** Litres a hectare at a pace. */
export const litresHa = (litres_h: number, ha_per_h: number): number => litres_h / ha_per_h;
