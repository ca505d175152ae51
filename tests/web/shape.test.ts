import { lettered, keepOuts } from "../../web/src/desk/land";
import type { Collection, LonLat } from "../../web/src/desk/nouns";
import { fitted } from "../../web/src/desk/outline";
import { changed, collectionOf, draftOf, EMPTY, lacking, removed, withPiece } from "../../web/src/desk/shape/draft";
import { cornersOf, nudged, polygon, spot, strip, typedCorners, withCorners } from "../../web/src/desk/shape/form";
import { boundsOf, placeOf } from "../../web/src/desk/sheet/place";

const ring: LonLat[] = [[-106.22, 49.74], [-106.215, 49.74], [-106.215, 49.743], [-106.22, 49.743]];
const saved: Collection = {
  type: "FeatureCollection",
  features: [
    { type: "Feature", geometry: polygon(ring), properties: { name: "Dry Ladle", surveyed: 1998 } },
    { type: "Feature", geometry: spot([-106.218, 49.741], 1.5), properties: { kind: "pole", hazard: true, until: "2026-06-01T12:00:00Z" } },
    { type: "Feature", geometry: spot([-106.217, 49.741], 1.5), properties: { kind: "pole", hazard: true } },
    { type: "Feature", geometry: spot([-106.217, 49.742], 4), properties: { kind: "stones" } },
  ],
};

describe("a paddock while it is drawn", () => {
  it("a saved one comes back as it was, with what it said beside", () => {
    const draft = draftOf(saved);
    expect(draft.name).toBe("Dry Ladle");
    const again = collectionOf(draft);
    expect(again.features.map((f) => f.geometry)).toEqual(saved.features.map((f) => f.geometry));
    expect(again.features[0]?.properties).toEqual({ name: "Dry Ladle", surveyed: 1998 });
    expect(again.features[1]?.properties).toEqual({ kind: "pole", hazard: true, until: "2026-06-01" });
  });

  it("a new boundary takes the place of the old one, and keep-outs stay", () => {
    const draft = withPiece(draftOf(saved), polygon(ring.slice(0, 3)), true);
    expect(draft.pieces.filter((piece) => piece.boundary)).toHaveLength(1);
    expect(collectionOf(draft).features).toHaveLength(4);
  });

  it("says what is lacking, one thing after the other", () => {
    expect(lacking(EMPTY)).toBe("boundary");
    const bare = withPiece(EMPTY, polygon(ring), true);
    expect(lacking(bare)).toBe("name");
    const named = withPiece({ ...bare, name: "Quillback" }, spot([0, 0], 1), false);
    expect(lacking(named)).toBe("kind");
    expect(lacking(changed(named, 2, { kind: "tree" }))).toBeNull();
    expect(lacking(removed(named, 2))).toBeNull();
  });

  it("keep-outs of one kind and name share a letter, as on the printed map", () => {
    expect(keepOuts(saved).map((out) => out.letter)).toEqual(["A", "A", "B"]);
    expect([0, 25, 26, 52].map(lettered)).toEqual(["A", "Z", "AA", "BA"]);
  });
});

describe("rings from little", () => {
  const metres = ([lon, lat]: LonLat, [lon2, lat2]: LonLat): number => Math.hypot((lon2 - lon) * 111_195 * Math.cos((lat * Math.PI) / 180), (lat2 - lat) * 111_195);
  const ringOf = (geometry: { coordinates: unknown } | null): LonLat[] => ((geometry?.coordinates ?? []) as LonLat[][])[0] ?? [];

  it("a spot is a closed ring at its radius", () => {
    const around = ringOf(spot([-106.2, 49.7], 10));
    expect(around.at(-1)).toEqual(around[0]);
    for (const corner of around) expect(metres([-106.2, 49.7], corner)).toBeCloseTo(10, 1);
  });

  it("a line with a bend is as wide as asked on its straights", () => {
    const along = ringOf(strip([[0, 0], [0.001, 0], [0.001, 0.001]], 1.5));
    expect(along).toHaveLength(7);
    expect(metres([0, 0], along[0] ?? [9, 9])).toBeCloseTo(1.5, 1);
    expect(strip([[0, 0], [0, 0]], 1)).toBeNull();
    expect(strip([], 1)).toBeNull();
  });

  it("typed corners are latitude first, and a bad line is named", () => {
    expect(typedCorners("49.74, -106.22\n\n49.75 -106.21")).toEqual([[-106.22, 49.74], [-106.21, 49.75]]);
    expect(typedCorners("49.74, -106.22\n95, 10")).toEqual({ line: 2 });
    expect(typedCorners("49.74")).toEqual({ line: 1 });
  });

  it("a nudge is a metre, and corners go back into ring, hole and part untouched", () => {
    expect(metres(ring[0] ?? [0, 0], nudged(ring[0] ?? [0, 0], 3, 4))).toBeCloseTo(5, 1);
    const hole = [[-106.218, 49.741], [-106.217, 49.741], [-106.217, 49.742], [-106.218, 49.741]];
    const outer = ringOf(polygon(ring));
    const parts = { type: "MultiPolygon", coordinates: [[outer, hole], [hole]] };
    const moved = withCorners(parts, [[-106.221, 49.74], ...cornersOf(parts).slice(1)]);
    expect(cornersOf(moved)[0]).toEqual([-106.221, 49.74]);
    expect((moved.coordinates as unknown[][])[0]?.[1]).toEqual(hole);
    expect((moved.coordinates as unknown[][])[1]).toEqual([hole]);
  });
});

describe("where things lie", () => {
  const bounds = boundsOf(saved);

  it("a patch is told by the paddock's own sides", () => {
    expect(placeOf(-106.2199, 49.7429, bounds)).toEqual({ side: "north-west", end: "", along_m: 0 });
    expect(placeOf(-106.2175, 49.7415, bounds).side).toBe("middle");
    const north = placeOf(-106.218, 49.7429, bounds);
    expect([north.side, north.end]).toEqual(["north", "west"]);
    expect(north.along_m).toBeCloseTo(143.8, 0);
  });

  it("an outline keeps its shape: a degree east is shorter than a degree north", () => {
    const [path = ""] = fitted([[[10, 60], [12, 60], [12, 61], [10, 61]]], 100, 0);
    const numbers = path.match(/[\d.]+/g)?.map(Number) ?? [];
    const xs = numbers.filter((_, i) => i % 2 === 0);
    const ys = numbers.filter((_, i) => i % 2 === 1);
    const wide = Math.max(...xs) - Math.min(...xs);
    const high = Math.max(...ys) - Math.min(...ys);
    expect(wide / high).toBeCloseTo(2 * Math.cos((60.5 * Math.PI) / 180), 1);
  });
});
