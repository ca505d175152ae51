// Where the tractor may drive, asked of thousands of ways: whether a way stays inside, what part of a line
// lies inside. A grid of cells that are made when they are first asked for knows how far off the nearest
// edge is at least, so most of a way is told from a few of its points.
import { hypot } from "./columns";
import { along, stepsOf, type Dubins, type Pose } from "./dubins";
import { type Box, boxOf, holds } from "./rings";
import type { Floats, Ring } from "./words";

/** Side of a cell, m, and half its diagonal. */
const CELL_M = 6;
const HALF_M = (CELL_M * Math.SQRT2) / 2;
/** Edges this near to a cell's middle are looked at one by one, m: a step of 4 m begins in the cell. */
const REACH_M = HALF_M + 4;
/** So many cells to the side share what edges may be nearest to them. */
const WIDE = 8;

interface Cell {
  /** Whether the middle lies inside, and how far the nearest edge is from it, m. */
  readonly inside: boolean;
  readonly off_m: number;
  /** x, y of one end and of the other, of the edges that matter here. */
  readonly edges: Floats;
}

export class Room {
  readonly rings: readonly Ring[];
  private readonly box: Box;
  private readonly columns: number;
  private readonly edges: Floats;
  private readonly cells = new Map<number, Cell>();
  private readonly wide = new Map<number, Cell>();

  /** The ground of some rings by the even-odd rule. */
  constructor(rings: readonly Ring[]) {
    this.rings = rings;
    this.box = boxOf(rings);
    this.columns = Math.max(Math.floor((this.box.east - this.box.west) / CELL_M) + 1, 1);
    this.edges = edgesOf(rings);
  }

  holds(x: number, y: number): boolean {
    const cell = this.cellAt(x, y);
    if (cell === null) return false;
    return cell.off_m > HALF_M ? cell.inside : holds(this.rings, x, y);
  }

  /** Whether a way stays inside, its bends taken as chords of about `step_m` (4 m at most). */
  fits(way: Dubins, step_m: number): boolean {
    let from = way.start;
    if (!this.holds(from[0], from[1])) return false;
    for (let part = 0; part < 3; part++) {
      const length = way.parts_m[part];
      if (length <= 0) continue;
      const letter = way.word[part];
      const bend = letter === "S" ? 0 : (letter === "L" ? 1 : -1) / way.radius_m;
      if (!this.follows(from, bend, stepsOf(length, step_m), length)) return false;
      from = along(from, letter, way.radius_m, length);
    }
    return true;
  }

  /** Whether the straight line from one place to another stays inside. */
  fitsLine(x0: number, y0: number, x1: number, y1: number): boolean {
    const length = hypot(x1 - x0, y1 - y0);
    return this.holds(x0, y0) && this.follows([x0, y0, Math.atan2(y1 - y0, x1 - x0)], 0, stepsOf(length, 3), length);
  }

  /** Whether the `n` chords of a bend (nought: straight) that begins inside stay inside. */
  private follows([x0, y0, h]: Pose, bend: number, n: number, length: number): boolean {
    const step_m = length / n;
    const [c, s] = [Math.cos(h), Math.sin(h)];
    let [k, x, y] = [0, x0, y0];
    while (k < n) {
      const cell = this.cellAt(x, y);
      if (cell === null) return false;
      const free = cell.off_m - HALF_M;
      if (free > 0 && !cell.inside) return false;
      const skip = free > 0 ? Math.min(Math.floor(free / step_m), n - k) : 0;
      k += Math.max(skip, 1);
      const gone = k * step_m;
      const [x1, y1] =
        bend === 0
          ? [x0 + c * gone, y0 + s * gone]
          : [x0 + (Math.sin(h + bend * gone) - s) / bend, y0 - (Math.cos(h + bend * gone) - c) / bend];
      if (skip === 0 && crosses(cell.edges, x, y, x1, y1)) return false;
      [x, y] = [x1, y1];
    }
    return true;
  }

  /** Null: outside of all. */
  private cellAt(x: number, y: number): Cell | null {
    const column = Math.floor((x - this.box.west) / CELL_M);
    const row = Math.floor((y - this.box.south) / CELL_M);
    if (column < 0 || row < 0 || x > this.box.east || y > this.box.north) return null;
    const at = row * this.columns + column;
    const known = this.cells.get(at);
    if (known !== undefined) return known;
    const wide = this.wideAt(Math.floor(column / WIDE), Math.floor(row / WIDE));
    const mx = this.box.west + (column + 0.5) * CELL_M;
    const my = this.box.south + (row + 0.5) * CELL_M;
    const off_m = offOf(wide.edges, mx, my);
    const inside = wide.off_m > WIDE * HALF_M ? wide.inside : holds(this.rings, mx, my);
    const made = { inside, off_m, edges: off_m > REACH_M ? NONE : within(wide.edges, mx, my, REACH_M) };
    this.cells.set(at, made);
    return made;
  }

  /** The same for many cells; its edges are all that may be the nearest to any place in it. */
  private wideAt(column: number, row: number): Cell {
    const at = row * this.columns + column;
    const known = this.wide.get(at);
    if (known !== undefined) return known;
    const mx = this.box.west + (column + 0.5) * WIDE * CELL_M;
    const my = this.box.south + (row + 0.5) * WIDE * CELL_M;
    const off_m = offOf(this.edges, mx, my);
    const reach = Math.max(off_m + 2 * WIDE * HALF_M, WIDE * HALF_M + REACH_M);
    const made = { inside: holds(this.rings, mx, my), off_m, edges: within(this.edges, mx, my, reach) };
    this.wide.set(at, made);
    return made;
  }

  /** The longest part of a line that lies inside, as distances from its beginning, m; null: none. */
  longest(x0: number, y0: number, x1: number, y1: number): readonly [number, number] | null {
    const length = hypot(x1 - x0, y1 - y0);
    const cuts = [0, 1];
    for (const ring of this.rings) {
      const n = ring.length;
      for (let i = 0, j = n - 2; i < n; j = i, i += 2) {
        const part = cutOf(x0, y0, x1, y1, ring[j], ring[j + 1], ring[i], ring[i + 1]);
        if (part > 0 && part < 1) cuts.push(part);
      }
    }
    cuts.sort((a, b) => a - b);
    let best: [number, number] | null = null;
    let open = -1;
    for (let k = 0; k + 1 < cuts.length; k++) {
      const middle = (cuts[k] + cuts[k + 1]) / 2;
      if (!this.holds(x0 + middle * (x1 - x0), y0 + middle * (y1 - y0))) open = -1;
      else {
        if (open < 0) open = cuts[k];
        if (best === null || cuts[k + 1] - open > best[1] - best[0]) best = [open, cuts[k + 1]];
      }
    }
    return best === null ? null : [best[0] * length, best[1] * length];
  }
}

/** Where along a line it meets an edge, a part of its length; outside 0 to 1 where it does not. */
function cutOf(
  x0: number, y0: number, x1: number, y1: number, ax: number, ay: number, bx: number, by: number,
): number {
  const [dx, dy, ex, ey] = [x1 - x0, y1 - y0, bx - ax, by - ay];
  const cross = dx * ey - dy * ex;
  if (cross === 0) return -1;
  const beside = ((ax - x0) * dy - (ay - y0) * dx) / cross;
  if (beside < 0 || beside >= 1) return -1;
  return ((ax - x0) * ey - (ay - y0) * ex) / cross;
}

function crosses(edges: Floats, x0: number, y0: number, x1: number, y1: number): boolean {
  for (let e = 0; e < edges.length; e += 4) {
    const part = cutOf(x0, y0, x1, y1, edges[e], edges[e + 1], edges[e + 2], edges[e + 3]);
    if (part >= 0 && part <= 1) return true;
  }
  return false;
}

const NONE = new Float64Array(0);

function edgesOf(rings: readonly Ring[]): Floats {
  const out: number[] = [];
  for (const ring of rings) {
    const n = ring.length;
    for (let i = 0, j = n - 2; i < n; j = i, i += 2) out.push(ring[j], ring[j + 1], ring[i], ring[i + 1]);
  }
  return Float64Array.from(out);
}

/** Square of the distance from the edge that begins at `e`. */
function square(edges: Floats, e: number, x: number, y: number): number {
  const [dx, dy] = [edges[e + 2] - edges[e], edges[e + 3] - edges[e + 1]];
  const [px, py] = [x - edges[e], y - edges[e + 1]];
  const length = dx * dx + dy * dy;
  const part = length > 0 ? Math.min(Math.max((px * dx + py * dy) / length, 0), 1) : 0;
  return (px - part * dx) * (px - part * dx) + (py - part * dy) * (py - part * dy);
}

function offOf(edges: Floats, x: number, y: number): number {
  let least = Infinity;
  for (let e = 0; e < edges.length; e += 4) least = Math.min(least, square(edges, e, x, y));
  return Math.sqrt(least);
}

function within(edges: Floats, x: number, y: number, reach_m: number): Floats {
  const out: number[] = [];
  for (let e = 0; e < edges.length; e += 4) {
    if (square(edges, e, x, y) <= reach_m * reach_m) out.push(edges[e], edges[e + 1], edges[e + 2], edges[e + 3]);
  }
  return Float64Array.from(out);
}
