// Where in the paddock a patch lies, by the paddock's own sides.
// The same thirds as server/unsown/formats/place.py.
import { isBoundary, ringsOf } from "../land";
import type { Collection } from "../nouns";

export type Bounds = readonly [west: number, south: number, east: number, north: number];
export interface Place {
  /** `north`, `north-east` ... or `middle`. */
  side: string;
  /** The nearer end of that side, and how far it is; in corners and the middle there is none. */
  end: string;
  along_m: number;
}

/** Degrees round the paddock's boundary; of nothing there are none. */
export function boundsOf(shape: Collection | null): Bounds {
  const points = (shape?.features ?? []).filter(isBoundary).flatMap(ringsOf).flat();
  const lons = points.map(([lon]) => lon);
  const lats = points.map(([, lat]) => lat);
  return [Math.min(...lons), Math.min(...lats), Math.max(...lons), Math.max(...lats)];
}

// metres of a degree of latitude in the middle latitudes; for words like "180 m from the west end"
const DEGREE_M = 111_200;

export function placeOf(lon: number, lat: number, [west, south, east, north]: Bounds): Place {
  const squeeze = Math.cos((((south + north) / 2) * Math.PI) / 180);
  const column = third(lon, west, east, ["west", "", "east"]);
  const row = third(lat, south, north, ["south", "", "north"]);
  const side = [row, column].filter(Boolean).join("-") || "middle";
  const nearer = (value: number, low: number, high: number, names: [string, string], metres: number): Place =>
    value - low <= high - value ? { side, end: names[0], along_m: (value - low) * metres } : { side, end: names[1], along_m: (high - value) * metres };
  if (row && !column) return nearer(lon, west, east, ["west", "east"], DEGREE_M * squeeze);
  if (column && !row) return nearer(lat, south, north, ["south", "north"], DEGREE_M);
  return { side, end: "", along_m: 0 };
}

function third(value: number, low: number, high: number, names: readonly [string, string, string]): string {
  const share = high > low ? (value - low) / (high - low) : 0.5;
  return names[Math.min(2, Math.max(0, Math.floor(share * 3)))] ?? "";
}
