// Rings from little: a spot with a radius, a line with a width, corners that were typed.
import type { Geometry, LonLat } from "../nouns";

// metres of a degree on a sphere of the earth's mean radius: good to 0.3 % for things of some metres
const DEGREE_M = 111_195;

export const round7 = (value: number): number => Math.round(value * 1e7) / 1e7;

/** A ring of corners as a polygon, closed and rounded to what GeoJSON keeps. */
export function polygon(corners: readonly LonLat[]): Geometry {
  const ring = corners.map(([lon, lat]) => [round7(lon), round7(lat)]);
  const [first] = ring;
  return { type: "Polygon", coordinates: [first ? [...ring, [...first]] : ring] };
}

/** The ground within `radius_m` of a spot. */
export function spot([lon, lat]: LonLat, radius_m: number, sides = 24): Geometry {
  const squeeze = Math.cos((lat * Math.PI) / 180);
  return polygon(
    Array.from({ length: sides }, (_, i): LonLat => {
      const turn = (2 * Math.PI * i) / sides;
      return [lon + (radius_m * Math.cos(turn)) / (DEGREE_M * squeeze), lat + (radius_m * Math.sin(turn)) / DEGREE_M];
    }),
  );
}

/** The ground within `half_m` on both sides of a line of at least two different points. */
export function strip(line: readonly LonLat[], half_m: number): Geometry | null {
  const [origin] = line;
  if (!origin) return null;
  const squeeze = Math.cos((origin[1] * Math.PI) / 180);
  const points = line
    .map(([lon, lat]) => ({ x: (lon - origin[0]) * DEGREE_M * squeeze, y: (lat - origin[1]) * DEGREE_M }))
    .filter((p, i, all) => i === 0 || Math.hypot(p.x - (all[i - 1]?.x ?? 0), p.y - (all[i - 1]?.y ?? 0)) > 0.05);
  if (points.length < 2) return null;
  const way = (i: number): { x: number; y: number } => {
    const [a, b] = [points[i], points[i + 1]];
    if (!a || !b) return { x: 0, y: 0 };
    const long = Math.hypot(b.x - a.x, b.y - a.y);
    return { x: (b.x - a.x) / long, y: (b.y - a.y) / long };
  };
  const side = (sign: 1 | -1): LonLat[] =>
    points.map((p, i): LonLat => {
      const [before, after] = [way(Math.max(0, i - 1)), way(Math.min(points.length - 2, i))];
      const nx = -(before.y + after.y) / 2;
      const ny = (before.x + after.x) / 2;
      // a bend is wider than the line; a sharp one is cut off at twice the width
      const scale = (sign * half_m) / Math.max(0.25, nx * nx + ny * ny);
      return [origin[0] + (p.x + nx * scale) / (DEGREE_M * squeeze), origin[1] + (p.y + ny * scale) / DEGREE_M];
    });
  return polygon([...side(1), ...side(-1).toReversed()]);
}

/** Corners typed one a line, latitude first as people say it: `49.7343, -106.2162`; null where a line is none. */
export function typedCorners(text: string): LonLat[] | { line: number } {
  const corners: LonLat[] = [];
  for (const [index, line] of text.split("\n").entries()) {
    if (!line.trim()) continue;
    const numbers = line.trim().split(/[\s,;]+/).map(Number);
    const [lat, lon] = numbers;
    if (numbers.length !== 2 || lat === undefined || lon === undefined || !(Math.abs(lat) <= 90) || !(Math.abs(lon) <= 180)) return { line: index + 1 };
    corners.push([lon, lat]);
  }
  return corners;
}

/** A corner moved by metres east and north. */
export const nudged = ([lon, lat]: LonLat, east_m: number, north_m: number): LonLat => [
  round7(lon + east_m / (DEGREE_M * Math.cos((lat * Math.PI) / 180))),
  round7(lat + north_m / DEGREE_M),
];

/** The outer ring of a geometry without the closing corner; the first part of several. */
export function cornersOf(geometry: Geometry): LonLat[] {
  const rings = (geometry.type === "MultiPolygon" ? (geometry.coordinates as LonLat[][][])[0] : (geometry.coordinates as LonLat[][])) ?? [];
  return (rings[0] ?? []).slice(0, -1);
}

/** The geometry with other corners in its first outer ring; holes and further parts stay. */
export function withCorners(geometry: Geometry, corners: readonly LonLat[]): Geometry {
  const ring = (polygon(corners).coordinates as LonLat[][])[0] ?? [];
  if (geometry.type === "MultiPolygon") {
    const [first = [], ...others] = geometry.coordinates as LonLat[][][];
    return { type: "MultiPolygon", coordinates: [[ring, ...first.slice(1)], ...others] };
  }
  return { type: "Polygon", coordinates: [ring, ...(geometry.coordinates as LonLat[][]).slice(1)] };
}
