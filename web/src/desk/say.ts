// Says numbers and times the farm's way: its units, its zone.
import * as units from "../formats/units";
import { desk } from "./state";

const unit = (): units.AreaUnit => desk.get().settings.units;
/** A number and its unit stay on one line. */
const held = (text: string): string => text.replaceAll(" ", "\u00a0");

export const area = (ha: number | null | undefined): string =>
  ha === null || ha === undefined ? "–" : held(units.area(ha, unit()));

/** Some metres to a tenth, as satellites drift: `2.1 m`. */
export const metres = (m: number): string => held(unit() === "ac" ? `${(m / units.FOOT_M).toFixed(0)} ft` : `${m.toFixed(1)} m`);

/** `74.5 km` with the tool in the ground. */
export const road = (km: number): string => held(units.road(km, unit()));

/** An area that is only measured on a sphere: two figures. */
export function roughly(ha: number): string {
  const value = unit() === "ac" ? (ha * 10_000) / units.ACRE_M2 : ha;
  return held(`${Number(value.toPrecision(2))} ${unit()}`);
}

/** An area without its unit, for tables that name it once. */
export const bareArea = (ha: number): string => units.area(ha, unit()).split(" ")[0] ?? "";

export const size = (m2: number): string => held(units.size(m2, unit()));
export const distance = (m: number): string => held(units.distance(m, unit()));
export const speed = (metresASecond: number): string => held(units.speed(metresASecond, unit()));

/** `1.04 to 1.31 ha`. */
export const band = (low: number, high: number): string => `${bareArea(low)} to ${area(high)}`;

/** `+0.27 ha`, with a real minus. */
export function change(ha: number): string {
  const text = units.area(Math.abs(ha), unit());
  if (text.startsWith("0.00 ")) return held(text);
  return held(`${ha < 0 ? "−" : "+"}${text}`);
}

const formats = new Map<string, Intl.DateTimeFormat>();
function format(options: Intl.DateTimeFormatOptions, zone: string): Intl.DateTimeFormat {
  const key = `${zone} ${JSON.stringify(options)}`;
  let made = formats.get(key);
  if (!made) {
    made = new Intl.DateTimeFormat("en-GB", { ...options, timeZone: zone });
    formats.set(key, made);
  }
  return made;
}

/** `14:22:05` by the farm's clock. */
export const clock = (ms: number): string =>
  format({ hour: "2-digit", minute: "2-digit", second: "2-digit" }, desk.get().settings.zone).format(ms);

/** `14:22` by the farm's clock. */
export const minute = (ms: number): string =>
  format({ hour: "2-digit", minute: "2-digit" }, desk.get().settings.zone).format(ms);

/** `14 May 2026, 14:22` by the farm's clock. */
export const moment = (ms: number): string =>
  format({ day: "numeric", month: "short", year: "numeric", hour: "2-digit", minute: "2-digit" }, desk.get().settings.zone).format(ms);

/** `Thursday 14 May 2026` for a farm day written `2026-05-14`. */
export const day = (iso: string): string =>
  format({ weekday: "long", day: "numeric", month: "long", year: "numeric" }, "UTC").format(Date.parse(`${iso}T00:00:00Z`));

/** `14 May`. */
export const dayShort = (iso: string): string =>
  format({ day: "numeric", month: "short" }, "UTC").format(Date.parse(`${iso}T00:00:00Z`));

/** `2 min 41 s`, `6 min`, `1 h 5 min`. */
export function duration(ms: number): string {
  const seconds = Math.round(ms / 1000);
  if (seconds < 60) return `${seconds} s`;
  const minutes = Math.floor(seconds / 60);
  if (minutes >= 60) return `${Math.floor(minutes / 60)} h ${minutes % 60} min`;
  return minutes < 10 && seconds % 60 ? `${minutes} min ${seconds % 60} s` : `${Math.round(seconds / 60)} min`;
}

/** `12,400`. */
export const count = (value: number): string => value.toLocaleString("en-GB");

/** `C$ 287`, to whole units; a real minus before what is lost. */
export const money = (value: number, currency: string): string =>
  held(`${value <= -0.5 ? "−" : ""}${currency && `${currency} `}${count(Math.round(Math.abs(value)))}`);

/** `9 min` of a time in seconds; never less than one. */
export const minutes = (seconds: number): string => held(`${Math.max(1, Math.round(seconds / 60))} min`);

/** A part as `5.4 %`. */
export const percent = (part: number): string => held(`${(100 * part).toFixed(1)} %`);

/** `2,430 kg` or `90 L`. */
export const amount = (value: number, of: string): string => held(`${count(Math.round(value))} ${of === "l" ? "L" : of}`);

/** `114.2 kg/ha`. */
export const rate = (value: number, of: string): string => held(`${value.toFixed(1)} ${of === "l" ? "L" : of}/ha`);
