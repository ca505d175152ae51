// The farm pack: what the phone carries to the paddock. What home sends is read whole into the
// engine's own words before any of it counts; a pack that cannot be read leaves the one before.
import { UnsownError } from "../core/errors";
import type { Area, Gate, KeepOut, Paddock, Rig } from "../core/words";

export interface PackPaddock {
  readonly id: string;
  readonly name: string;
  readonly version: number;
  readonly net_ha: number;
  readonly land: Paddock;
  /** The ground so far this season, as GeoJSON of `unsown find --geojson`; null where there is none. */
  readonly ground: GroundJson | null;
}

export interface PackRig {
  readonly id: string;
  readonly name: string;
  readonly version: number;
  readonly made_ms: number;
  /** The versions that hold at any time, the earliest first, each from its `from_ms` on; at least one. */
  readonly chain: readonly Rig[];
}

export interface PackSettings {
  readonly farm: string | null;
  readonly units: "ha" | "ac";
  readonly land: "paddock" | "field";
  readonly zone: string;
  readonly day_start: string;
  readonly currency: string;
  readonly prices: Readonly<Record<string, number | null>>;
  /** Folding, the road to the yard and back, and unfolding, minutes; null: not set. */
  readonly trip_min: number | null;
}

export interface GroundJson {
  readonly type: "FeatureCollection";
  readonly features: readonly {
    readonly geometry: { readonly type: string; readonly coordinates: unknown };
    readonly properties: Readonly<Record<string, unknown>>;
  }[];
}

export interface Pack {
  readonly fetched_ms: number;
  readonly season: number;
  readonly settings: PackSettings;
  readonly paddocks: readonly PackPaddock[];
  readonly rigs: readonly PackRig[];
}

/** What is kept on the phone: the pack as it came, and when. */
export interface Carried {
  readonly fetched_ms: number;
  readonly json: unknown;
}

/**
 * Reads a pack. Throws UnsownError `pack-bad`: something that must be there is not, or is something
 * else; its `where` names it.
 */
export function readPack({ json, fetched_ms }: Carried): Pack {
  const pack = object(json, "the pack");
  const settings = object(pack["settings"], "settings");
  const grounds = object(pack["ground"], "ground");
  return {
    fetched_ms,
    season: number(pack["season"], "season"),
    settings: {
      farm: settings["farm"] === null || settings["farm"] === undefined ? null : text(settings["farm"], "settings.farm"),
      units: oneOf(settings["units"], ["ha", "ac"] as const, "settings.units"),
      land: oneOf(settings["land"], ["paddock", "field"] as const, "settings.land"),
      zone: text(settings["zone"], "settings.zone"),
      day_start: text(settings["day_start"], "settings.day_start"),
      currency: text(settings["currency"], "settings.currency"),
      prices: object(settings["prices"], "settings.prices") as Record<string, number | null>,
      trip_min: typeof settings["trip_min"] === "number" ? settings["trip_min"] : null,
    },
    paddocks: list(pack["paddocks"], "paddocks").map((row, at) => paddockOf(row, `paddocks.${at}`, grounds)),
    rigs: list(pack["rigs"], "rigs").map((row, at) => rigOf(row, `rigs.${at}`)),
  };
}

/** Whether a file holds a pack, told by its own keys. */
export function looksLikePack(json: unknown): boolean {
  return typeof json === "object" && json !== null && "paddocks" in json && "rigs" in json && "settings" in json;
}

function paddockOf(value: unknown, where: string, grounds: Readonly<Record<string, unknown>>): PackPaddock {
  const row = object(value, where);
  const id = text(row["id"], `${where}.id`);
  const land = object(row["land"], `${where}.land`);
  const found = grounds[id];
  if (found !== undefined) list(object(found, `ground.${id}`)["features"], `ground.${id}.features`);
  return {
    id,
    name: text(row["name"], `${where}.name`),
    version: number(row["version"], `${where}.version`),
    net_ha: number(row["net_ha"], `${where}.net_ha`),
    land: {
      name: text(land["name"], `${where}.land.name`),
      area: areaOf(land["area"], `${where}.land.area`),
      keep_outs: list(land["keep_outs"], `${where}.land.keep_outs`).map((out, at) => keepOutOf(out, `${where}.land.keep_outs.${at}`)),
      boundary: oneOf(land["boundary"], ["survey", "lap"] as const, `${where}.land.boundary`),
      notes: list(land["notes"], `${where}.land.notes`).map((note, at) => text(note, `${where}.land.notes.${at}`)),
      gates: list(land["gates"] ?? [], `${where}.land.gates`).map((gate, at) => gateOf(gate, `${where}.land.gates.${at}`)),
    },
    ground: (found as GroundJson | undefined) ?? null,
  };
}

function keepOutOf(value: unknown, where: string): KeepOut {
  const out = object(value, where);
  return {
    kind: text(out["kind"], `${where}.kind`),
    area: areaOf(out["area"], `${where}.area`),
    name: text(out["name"], `${where}.name`),
    hazard: out["hazard"] === true,
    from_ms: moment(out["from_ms"], `${where}.from_ms`),
    until_ms: moment(out["until_ms"], `${where}.until_ms`),
  };
}

function gateOf(value: unknown, where: string): Gate {
  const gate = object(value, where);
  return { lon_deg: number(gate["lon_deg"], `${where}.lon_deg`), lat_deg: number(gate["lat_deg"], `${where}.lat_deg`), name: text(gate["name"], `${where}.name`) };
}

/** Polygons of rings of [lon, lat] -> flat rings, degrees. */
function areaOf(value: unknown, where: string): Area {
  return list(value, where).map((polygon, p) =>
    list(polygon, `${where}.${p}`).map((ring, r) => {
      const points = list(ring, `${where}.${p}.${r}`);
      if (points.length < 3) throw bad(`${where}.${p}.${r}`, "a ring of three points or more", `${points.length}`);
      const flat = new Float64Array(points.length * 2);
      points.forEach((point, i) => {
        const pair = list(point, `${where}.${p}.${r}.${i}`);
        flat[2 * i] = number(pair[0], `${where}.${p}.${r}.${i}.0`);
        flat[2 * i + 1] = number(pair[1], `${where}.${p}.${r}.${i}.1`);
      });
      return flat;
    }),
  );
}

function rigOf(value: unknown, where: string): PackRig {
  const row = object(value, where);
  const chain = list(row["chain"], `${where}.chain`).map((each, at) => {
    const rig = object(each, `${where}.chain.${at}`);
    const tool = object(rig["tool"], `${where}.chain.${at}.tool`);
    const width = number(tool["width_m"], `${where}.chain.${at}.tool.width_m`);
    if (!(width > 0)) throw bad(`${where}.chain.${at}.tool.width_m`, "a width above nought", String(width));
    for (const part of ["phone", "times"]) object(rig[part], `${where}.chain.${at}.${part}`);
    return rig as unknown as Rig;
  });
  if (chain.length === 0) throw bad(`${where}.chain`, "at least one version", "none");
  return {
    id: text(row["id"], `${where}.id`),
    name: text(row["name"], `${where}.name`),
    version: number(row["version"], `${where}.version`),
    made_ms: number(row["made_ms"], `${where}.made_ms`),
    chain,
  };
}

function bad(where: string, expected: string, came: string): UnsownError {
  return new UnsownError("pack-bad", `expected ${expected}, but ${came} came`, {
    where,
    hint: "The pack is damaged or of another version: fetch it again, or take a newer version of this page.",
  });
}

const kindOf = (value: unknown): string => (value === null ? "null" : Array.isArray(value) ? "a list" : typeof value);

function object(value: unknown, where: string): Readonly<Record<string, unknown>> {
  if (typeof value !== "object" || value === null || Array.isArray(value)) throw bad(where, "an object", kindOf(value));
  return value as Record<string, unknown>;
}

function list(value: unknown, where: string): readonly unknown[] {
  if (!Array.isArray(value)) throw bad(where, "a list", kindOf(value));
  return value;
}

function text(value: unknown, where: string): string {
  if (typeof value !== "string") throw bad(where, "a text", kindOf(value));
  return value;
}

function number(value: unknown, where: string): number {
  if (typeof value !== "number" || !Number.isFinite(value)) throw bad(where, "a number", kindOf(value));
  return value;
}

function moment(value: unknown, where: string): number | null {
  return value === null ? null : number(value, where);
}

function oneOf<T extends string>(value: unknown, allowed: readonly T[], where: string): T {
  const found = allowed.find((each) => each === value);
  if (found === undefined) throw bad(where, allowed.join(" or "), String(value));
  return found;
}
