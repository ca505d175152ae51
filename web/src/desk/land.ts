// What a saved paddock holds: its boundary, its keep-outs with a letter each, its gates.
import type { Collection, Feature } from "./nouns";

export type Ring = [number, number][];

/** The rings of a feature's polygons, [longitude, latitude]. */
export function ringsOf(feature: Feature): Ring[] {
  const geometry = feature.geometry;
  if (geometry?.type === "Polygon") return geometry.coordinates as Ring[];
  if (geometry?.type === "MultiPolygon") return (geometry.coordinates as Ring[][]).flat();
  return [];
}

/** True for the feature that is the paddock itself, not a keep-out. */
export function isBoundary(feature: Feature): boolean {
  const kind = feature.properties["kind"];
  return typeof kind !== "string" || ["", "boundary", "paddock", "field"].includes(kind);
}

/** True for a gate: a point, with no ground of its own. */
export const isGate = ({ properties, geometry }: Pick<Feature, "properties" | "geometry">): boolean => properties["kind"] === "gate" && geometry?.type === "Point";

/** A keep-out with the letter it has on the map, on paper and in the lists. */
export interface KeepOut {
  letter: string;
  kind: string;
  name: string;
  hazard: boolean;
  feature: Feature;
}

/** The keep-outs, lettered by kind and name in the order they come: all poles are one letter. */
export function keepOuts(shape: Collection | null): KeepOut[] {
  const letters = new Map<string, string>();
  return (shape?.features ?? [])
    .filter((feature) => !isBoundary(feature) && !isGate(feature))
    .map((feature) => {
      const text = (key: string): string => (typeof feature.properties[key] === "string" ? feature.properties[key] : "");
      const known = `${text("kind")} ${text("name")}`;
      const letter = letters.get(known) ?? lettered(letters.size);
      letters.set(known, letter);
      const hazard = feature.properties["hazard"] === true || feature.properties["hazard"] === "yes";
      return { letter, kind: text("kind"), name: text("name"), hazard, feature };
    });
}

/** A, B ... Z, AA, AB ... */
export function lettered(index: number): string {
  const last = String.fromCodePoint(65 + (index % 26));
  return index < 26 ? last : lettered(Math.floor(index / 26) - 1) + last;
}
