// A paddock's shape as a small drawing: north up, to its own scale.
import { s } from "./dom";
import { isBoundary, ringsOf, type Ring } from "./land";
import type { Collection } from "./nouns";

const SIZE = 96;
const EDGE = 4;

/** Degrees to a square of `SIZE`, keeping shape: a degree of longitude is shorter by cos latitude. */
export function fitted(rings: readonly Ring[], size = SIZE, edge = EDGE): string[] {
  const all = rings.flat();
  if (!all.length) return [];
  const lats = all.map(([, lat]) => lat);
  const squeeze = Math.cos((((Math.min(...lats) + Math.max(...lats)) / 2) * Math.PI) / 180);
  const xs = all.map(([lon]) => lon * squeeze);
  const [west, east] = [Math.min(...xs), Math.max(...xs)];
  const [south, north] = [Math.min(...lats), Math.max(...lats)];
  const scale = (size - 2 * edge) / Math.max(east - west, north - south, 1e-9);
  const left = (size - (east - west) * scale) / 2;
  const top = (size - (north - south) * scale) / 2;
  return rings.map((ring) => {
    const points = ring.map(([lon, lat]) => `${(left + (lon * squeeze - west) * scale).toFixed(1)} ${(top + (north - lat) * scale).toFixed(1)}`);
    return `M${points.join("L")}Z`;
  });
}

export function outline(shape: Collection | null): SVGElement {
  const land = (shape?.features ?? []).filter(isBoundary).flatMap(ringsOf);
  const out = (shape?.features ?? []).filter((f) => !isBoundary(f)).flatMap(ringsOf);
  const paths = fitted([...land, ...out]);
  return s(
    "svg",
    { viewBox: `0 0 ${SIZE} ${SIZE}`, width: SIZE, height: SIZE, "aria-hidden": "true", class: "outline" },
    s("path", { d: paths.slice(0, land.length).join(""), class: "outline-land" }),
    s("path", { d: paths.slice(land.length).join(""), class: "outline-out" }),
  );
}
