// Union, difference, intersection and growth of areas, by Clipper2 in TypeScript.
//
// Rings go in and come out as typed arrays. Rings are united by the nonzero rule; outer ones must run
// anticlockwise and holes clockwise, and come out so. Corners lie on a grid of 0.1 mm: there all of the
// library's arithmetic is whole and exact, in edges up to 9 km.
// Two of the library's files by name: through its front door all of it would be carried.
import { ClipType, FillRule, PathType, type Path64, type Paths64 } from "clipper2-ts/dist/Core.js";
import { Clipper64 } from "clipper2-ts/dist/Engine.js";
import { nested } from "./nested";
import { pushed } from "./pushed";
import { boxOf, reversed, signedArea } from "./rings";
import type { Area, Ring } from "./words";

/** Corners to the metre. */
const FINE = 1e4;
/** So many rings are united at once. */
const PART = 64;

/** A round corner is of a circle with so many corners. */
const CIRCLE = 16;

export class Clip {
  /**
   * All the ground of some rings. Many are united part by part first: what lies beside each other in the list
   * lies beside each other on the ground, and a sweep over few edges at a time is many times as quick. Not with
   * holes among them: one apart from the ring round it would be ground of its own.
   */
  union(rings: readonly Ring[]): Ring[] {
    if (rings.length <= PART || rings.some((ring) => signedArea(ring) < 0)) return this.both(ClipType.Union, rings, []);
    const parts: Ring[] = [];
    for (let from = 0; from < rings.length; from += PART) {
      parts.push(...this.both(ClipType.Union, rings.slice(from, from + PART), []));
    }
    return this.both(ClipType.Union, parts, []);
  }

  /** The ground that lies in more than one of some areas; the rings of each share no ground. */
  overlap(rings: readonly Ring[]): Ring[] {
    const { west, south, east, north } = boxOf(rings);
    // run the other way, a frame round them takes one from what lies over each other everywhere
    const frame = Float64Array.of(west - 1, south - 1, west - 1, north + 1, east + 1, north + 1, east + 1, south - 1);
    return this.both(ClipType.Union, [...rings, frame], [], FillRule.Positive);
  }

  intersection(rings: readonly Ring[], others: readonly Ring[]): Ring[] {
    if (rings.length === 0 || others.length === 0) return [];
    return this.both(ClipType.Intersection, rings, others);
  }

  difference(rings: readonly Ring[], less: readonly Ring[]): Ring[] {
    if (rings.length === 0) return [];
    return this.both(ClipType.Difference, rings, less);
  }

  /** Grown (or, with a negative distance, shrunk) by a distance, corners round (`circle` to one) or mitred. */
  grown(rings: readonly Ring[], by_m: number, corners: "round" | "mitred" = "round", circle = CIRCLE): Ring[] {
    const round = corners === "round" ? circle : corners;
    return this.both(ClipType.Union, rings.map((ring) => pushed(ring, by_m, round)), [], FillRule.Positive);
  }

  /** The ground within a distance of lines that close by themselves. */
  beside(rings: readonly Ring[], by_m: number): Ring[] {
    const both = rings.map((ring) => [ring, reversed(ring)].map((way) => pushed(way, by_m, CIRCLE)));
    return this.both(ClipType.Union, both.reduce((all, some) => all.concat(some), []), [], FillRule.Positive);
  }

  /** Rings that came out of here sorted into polygons: each outer ring with its own holes. */
  polygons(rings: readonly Ring[]): Area {
    return nested(rings);
  }

  private both(type: ClipType, rings: readonly Ring[], others: readonly Ring[], fill = FillRule.NonZero): Ring[] {
    const clipper = new Clipper64();
    clipper.addPaths(into(rings), PathType.Subject);
    if (others.length > 0) clipper.addPaths(into(others), PathType.Clip);
    const found: Paths64 = [];
    clipper.execute(type, fill, found);
    return found.map(outOf);
  }
}

function into(rings: readonly Ring[]): Paths64 {
  return rings.map((ring) => {
    const path: Path64 = [];
    for (let i = 0; i < ring.length; i += 2) {
      path.push({ x: Math.round(ring[i] * FINE), y: Math.round(ring[i + 1] * FINE) });
    }
    return path;
  });
}

function outOf(path: Path64): Ring {
  const out = new Float64Array(2 * path.length);
  for (let i = 0, j = 0; i < path.length; i++, j += 2) {
    out[j] = path[i].x / FINE;
    out[j + 1] = path[i].y / FINE;
  }
  return out;
}
