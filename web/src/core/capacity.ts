// Field capacity: hectares an hour, as designed and as done (ASABE EP496). Theoretical capacity is width ×
// speed; effective capacity is area over hours in the paddock, turns and fills included; field efficiency is
// their ratio.

const PRIOR_H = 2;

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
