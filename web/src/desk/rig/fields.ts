// The lengths and times of a rig card: what there is, for which kinds of rig, and in which unit the
// farm writes them. A card keeps each length as it was given, in metres, feet or inches.
import { FOOT_M, type AreaUnit } from "../../formats/units";
import type { Card, CardValue } from "../nouns";

export type RigKind = "towed" | "mounted" | "cart-between";
export type Unit = "m" | "s" | "deg" | "n";
export interface Field {
  table: "phone" | "tractor" | "cart" | "tool" | "turn" | "times";
  /** Without its unit: `width` for `width_m`. */
  key: string;
  unit: Unit;
  /** The kinds of rig that have it, and those that cannot do without. */
  kinds: readonly RigKind[];
  needed: readonly RigKind[];
}

const every: readonly RigKind[] = ["towed", "mounted", "cart-between"];
const pulled: readonly RigKind[] = ["towed", "cart-between"];
const between: readonly RigKind[] = ["cart-between"];
const one = (table: Field["table"], key: string, unit: Unit, kinds = every, needed: readonly RigKind[] = []): Field => ({ table, key, unit, kinds, needed });

export const FIELDS: readonly Field[] = [
  one("phone", "ahead_of_axle", "m", every, every),
  one("phone", "left_of_centre", "m"),
  one("phone", "ahead_of_seat", "m"),
  one("tractor", "axle_to_pin", "m", pulled, pulled),
  one("cart", "pin_to_axle", "m", between, between),
  one("cart", "axle_to_pin", "m", between, between),
  one("tool", "width", "m", every, every),
  one("tool", "openers", "n"),
  one("tool", "spacing", "m"),
  one("tool", "pin_to_axle", "m", pulled, pulled),
  one("tool", "front_rank", "m"),
  one("tool", "rear_rank", "m"),
  one("tool", "offset_left", "m"),
  one("tool", "overlap_wish", "m"),
  one("tool", "tine_caution", "deg"),
  one("tool", "tine_severe", "deg"),
  one("turn", "tightest", "m"),
  one("times", "lower", "s"),
  one("times", "raise", "s"),
  one("times", "meter", "s"),
  one("times", "fill", "s"),
  one("times", "fill_spread", "s"),
  one("times", "drain", "s"),
  one("times", "first_starve", "s"),
];

const METRES: Record<string, number> = { m: 1, ft: FOOT_M, in: 0.0254 };
const suffixes = (unit: Unit): string[] => (unit === "m" ? ["m", "ft", "in"] : unit === "n" ? [""] : [unit]);
const named = (key: string, suffix: string): string => (suffix ? `${key}_${suffix}` : key);

/** What the farm writes lengths in: metres beside hectares, feet beside acres. */
export const written = (unit: Unit, farm: AreaUnit): string => (unit === "m" ? (farm === "ac" ? "ft" : "m") : unit === "deg" ? "°" : unit === "n" ? "" : unit);

function tableOf(card: Card, table: string): Record<string, CardValue> {
  const found = card[table];
  return typeof found === "object" && found !== null ? found : {};
}

/** A field's value as it is shown, in the farm's unit; empty where the card has none. */
export function valueOf(card: Card, field: Field, farm: AreaUnit): string {
  const table = tableOf(card, field.table);
  for (const suffix of suffixes(field.unit)) {
    const value = table[named(field.key, suffix)];
    if (typeof value !== "number") continue;
    if (field.unit !== "m") return String(value);
    const shown = (value * (METRES[suffix] ?? 1)) / (METRES[written("m", farm)] ?? 1);
    return suffix === written("m", farm) ? String(value) : String(Number(shown.toFixed(3)));
  }
  return "";
}

/** The card with one field set to what was typed; empty takes it out. */
export function withValue(card: Card, field: Field, text: string, farm: AreaUnit): Card {
  if (text.trim() === valueOf(card, field, farm)) return card;
  const table = Object.fromEntries(Object.entries(tableOf(card, field.table)).filter(([key]) => !suffixes(field.unit).some((suffix) => key === named(field.key, suffix))));
  const number = Number(text.trim().replace(",", "."));
  if (text.trim() !== "" && Number.isFinite(number)) {
    const suffix = field.unit === "m" ? written("m", farm) : field.unit === "n" ? "" : field.unit;
    table[named(field.key, suffix)] = number;
  }
  const { [field.table]: _, ...rest } = card;
  return Object.keys(table).length ? { ...rest, [field.table]: table } : rest;
}

/** The card without what its kind of rig does not have, so that it is not refused for a leftover. */
export function fitting(card: Card, kind: RigKind, farm: AreaUnit): Card {
  let fitted: Card = { ...card, kind };
  for (const field of FIELDS) if (!field.kinds.includes(kind)) fitted = withValue(fitted, field, "", farm);
  return fitted;
}

/** The field that a text names by its key, such as `width_m`, or by table and key, `tool.width_m`. */
export function fieldIn(text: string, kind: RigKind): Field | null {
  const mine = FIELDS.filter((field) => field.kinds.includes(kind));
  const names = (field: Field): string[] => suffixes(field.unit).map((suffix) => named(field.key, suffix));
  const said = (name: string): boolean => new RegExp(`(^|[^\\w])${name.replace(".", "\\.")}($|[^\\w])`).test(text);
  const whole = mine.find((field) => names(field).some((name) => said(`${field.table}.${name}`)));
  return whole ?? mine.find((field) => names(field).some(said)) ?? null;
}
