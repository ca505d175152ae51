// Field capacity: hectares an hour, as designed and as done (ASABE EP496). Theoretical capacity is width ×
// speed; effective capacity is area over hours in the paddock, turns and fills included; field efficiency is
// their ratio.
import { hypot, interpAt, mean } from "./columns";
import type { Seeded } from "./ledger";

const PRIOR_H = 2;
/** A pace is that of half an hour; from fewer than so many no spread is told. */
const PACE_H = 0.5;
const LEAST = 3;
/** What is left is other ground: its pace is another one by this part, one sigma. Eight times in ten. */
const OTHER = 0.06;
const Z = 1.2816;

/** Width × speed with never a stop, ha/h. */
export const theoreticalHaH = (width_m: number, speed_km_h: number): number => (width_m * speed_km_h) / 10;

/** Where the time in the paddock went, hours. */
export interface Hours {
  readonly sowing_h: number;
  readonly turning_h: number;
  readonly standing_h: number;
  readonly filling_h: number;
}

/** What efficiency is, and what the rest was lost to, as parts of the time in the paddock: they add up to 1. */
export interface Lost {
  readonly efficiency: number;
  readonly turning: number;
  readonly filling: number;
  readonly standing: number;
  readonly overlap: number;
}

export function lostOf({ sowing_h, turning_h, standing_h, filling_h }: Hours, area_ha: number, theoretical: number): Lost {
  const all = sowing_h + turning_h + standing_h + filling_h;
  const efficiency = area_ha / all / theoretical;
  const [turning, filling, standing] = [turning_h / all, filling_h / all, standing_h / all];
  return { efficiency, turning, filling, standing, overlap: 1 - turning - filling - standing - efficiency };
}

/** Pace to reckon with: of the last hours, drawn to the season's mean the fewer they are. */
export function paceHaH(recent_ha: number, recent_h: number, usual_ha_h: number): number {
  if (recent_h <= 0) return usual_ha_h;
  const weight = recent_h / (recent_h + PRIOR_H);
  return (weight * recent_ha) / recent_h + (1 - weight) * usual_ha_h;
}

/** Hours until an area is done. */
export const hoursLeft = (area_ha: number, pace: number, fills = 0, fill_stop_h = 0.5): number =>
  area_ha / pace + fills * fill_stop_h;

/** Hectares an hour in every whole half hour of a day that began at `from_s`, back from `to_s`: the last one first. */
export function paces({ t_s, ha }: Seeded, from_s: number, to_s: number): number[] {
  const step = PACE_H * 3600;
  const at = (k: number): number => interpAt(to_s - k * step, t_s, ha);
  return Array.from({ length: Math.max(Math.floor((to_s - from_s) / step), 0) }, (_, k) => (at(k) - at(k + 1)) / PACE_H);
}

/**
 * How far off hours left are to either side, eight times in ten; null: too little to tell by. The pace to come is
 * the mean of as many half hours as are left, that so far of those there were.
 */
export function spreadH(hours: number, some: readonly number[]): number | null {
  const middle = mean(some);
  if (some.length < LEAST || !(middle > 0) || hours <= 0) return null;
  const part = Math.sqrt(some.reduce((sum, one) => sum + (one - middle) ** 2, 0) / (some.length - 1)) / middle;
  return Z * hours * hypot(part * Math.sqrt(PACE_H / hours + 1 / some.length), OTHER);
}
