// Union, difference, intersection and growth of areas, by clipper2-wasm.
//
// Only here is its memory touched: rings go in and come out as typed arrays. Rings are united by the
// nonzero rule; outer ones must run anticlockwise and holes clockwise, and come out so. Corners lie on
// a grid of 0.1 mm. The module is loaded by whoever starts the engine: the engine itself fetches nothing.
import type { ClipType, MainModule, PathsD, PolyPathD } from "clipper2-wasm/dist/clipper2z";
import type { Area, Polygon, Ring } from "./words";

/** The loaded module. */
export type Clipper = MainModule;

/** Decimals of a metre that corners keep. */
const DECIMALS = 4;
/** Corners of a round end lie this much inside the circle of 1 m: sixteen to the circle. */
const ROUND = 1 - Math.cos(Math.PI / 16);

/** What a mitre may reach beyond an edge, in distances. */
const MITRE = 2;

export class Clip {
  private readonly lib: Clipper;

  constructor(lib: Clipper) {
    this.lib = lib;
  }

  /** All the ground of some rings. */
  union(rings: readonly Ring[]): Ring[] {
    return this.both(this.lib.ClipType.Union, rings, []);
  }

  intersection(rings: readonly Ring[], others: readonly Ring[]): Ring[] {
    if (rings.length === 0 || others.length === 0) return [];
    return this.both(this.lib.ClipType.Intersection, rings, others);
  }

  difference(rings: readonly Ring[], less: readonly Ring[]): Ring[] {
    if (rings.length === 0) return [];
    return this.both(this.lib.ClipType.Difference, rings, less);
  }

  /** Grown (or, with a negative distance, shrunk) by a distance, corners round or mitred. */
  grown(rings: readonly Ring[], by_m: number, corners: "round" | "mitred" = "round"): Ring[] {
    const { JoinType, EndType } = this.lib;
    const join = corners === "round" ? JoinType.Round : JoinType.Miter;
    const paths = this.into(rings);
    const arc = ROUND * Math.abs(by_m);
    const out = this.lib.InflatePathsD(paths, by_m, join, EndType.Polygon, MITRE, DECIMALS, arc);
    paths.delete();
    return this.outOf(out);
  }

  /** The ground within a distance of lines that close by themselves. */
  beside(rings: readonly Ring[], by_m: number): Ring[] {
    const { JoinType, EndType } = this.lib;
    const paths = this.into(rings);
    const arc = ROUND * by_m;
    const out = this.lib.InflatePathsD(
      paths,
      by_m,
      JoinType.Round,
      EndType.Joined,
      MITRE,
      DECIMALS,
      arc,
    );
    paths.delete();
    return this.outOf(out);
  }

  /** Rings sorted into polygons: each outer ring with its own holes. */
  polygons(rings: readonly Ring[]): Area {
    if (rings.length === 0) return [];
    const { ClipType, FillRule } = this.lib;
    const subjects = this.into(rings);
    const clips = new this.lib.PathsD();
    const tree = new this.lib.PolyPathD();
    this.lib.BooleanOpOutD(ClipType.Union, FillRule.NonZero, subjects, clips, tree, DECIMALS);
    subjects.delete();
    clips.delete();
    const out: Polygon[] = [];
    for (let i = 0; i < tree.count(); i++) outer(tree.child(i), out);
    tree.delete();
    return out;
  }

  private both(type: ClipType, rings: readonly Ring[], others: readonly Ring[]): Ring[] {
    const subjects = this.into(rings);
    const clips = this.into(others);
    const out = this.lib.BooleanOpD(type, this.lib.FillRule.NonZero, subjects, clips, DECIMALS);
    subjects.delete();
    clips.delete();
    return this.outOf(out);
  }

  private into(rings: readonly Ring[]): PathsD {
    const paths = new this.lib.PathsD();
    const path = new this.lib.PathD();
    for (const ring of rings) {
      // a corner is x, y and a third number that is not used here
      const flat = new Float64Array((ring.length / 2) * 3);
      for (let i = 0, j = 0; i < ring.length; i += 2, j += 3) {
        flat[j] = ring[i];
        flat[j + 1] = ring[i + 1];
      }
      path.assign(flat);
      paths.push_back(path);
    }
    path.delete();
    return paths;
  }

  private outOf(paths: PathsD): Ring[] {
    const out: Ring[] = [];
    for (let k = 0; k < paths.size(); k++) {
      const path = paths.get(k);
      out.push(flatOf(path.view()));
      path.delete();
    }
    paths.delete();
    return out;
  }
}

/** An outer ring of a tree with its holes; islands in the holes are polygons of their own. */
function outer(node: PolyPathD, out: Polygon[]): void {
  const rings = [ringOf(node)];
  out.push(rings);
  for (let i = 0; i < node.count(); i++) {
    const hole = node.child(i);
    rings.push(ringOf(hole));
    for (let j = 0; j < hole.count(); j++) outer(hole.child(j), out);
  }
}

function ringOf(node: PolyPathD): Ring {
  const path = node.polygon();
  const ring = flatOf(path.view());
  path.delete();
  return ring;
}

function flatOf(view: Float64Array): Ring {
  const out = new Float64Array((view.length / 3) * 2);
  for (let i = 0, j = 0; i < out.length; i += 2, j += 3) {
    out[i] = view[j];
    out[i + 1] = view[j + 1];
  }
  return out;
}
