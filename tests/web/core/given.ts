// A day as tests/web/days.py writes it -> what the engine is given.
import type { Area, Fixes, Log, Mark, Paddock, Rig } from "../../../web/src/core/words";

type Column = (number | null)[];
type Rings = number[][][];

export interface Given {
  fixes: Record<keyof Omit<Fixes, "phones">, Column> & { phones: string[] };
  marks: Mark[];
  notes: string[];
  paddock: Omit<Paddock, "area" | "keep_outs"> & {
    area: Rings[] | null;
    keep_outs: (Omit<Paddock["keep_outs"][number], "area"> & { area: Rings[] })[];
  };
  rigs: Rig[];
}

const column = (values: Column): Float64Array =>
  Float64Array.from(values, (v) => v ?? Number.NaN);
const whole = (values: Column): Int32Array => Int32Array.from(values, (v) => v ?? 0);
const areaOf = (polygons: Rings[]): Area =>
  polygons.map((rings) => rings.map((ring) => Float64Array.from(ring.flat())));

export function logOf({ fixes, marks, notes }: Given): Log {
  return {
    fixes: {
      t_ms: column(fixes.t_ms),
      lat_deg: column(fixes.lat_deg),
      lon_deg: column(fixes.lon_deg),
      acc_m: column(fixes.acc_m),
      speed_m_s: column(fixes.speed_m_s),
      course_deg: column(fixes.course_deg),
      phone: whole(fixes.phone),
      segment: whole(fixes.segment),
      phones: fixes.phones,
    },
    marks,
    skipped: [],
    notes,
  };
}

export function paddockOf({ paddock }: Given): Paddock {
  return {
    ...paddock,
    area: paddock.area === null ? null : areaOf(paddock.area),
    keep_outs: paddock.keep_outs.map((k) => ({ ...k, area: areaOf(k.area) })),
  };
}
