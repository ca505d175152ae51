// Straight runs that would sow bare patches: along what line, from which end, how much anew.
//
// A patch gets runs along its own long and short side and along the runs beside it, both ways round. Patches
// in one line share a run: the corners of a paddock sown round and round lie on its diagonals. A run needs
// room: the tractor must be straight for long enough before the tool is let down, and it is ahead of the tool
// where the run ends.
import type { Clip } from "./clip";
import { hypot } from "./columns";
import type { Dubins, Pose } from "./dubins";
import { hull, ringsOf } from "./rings";
import { Room } from "./room";
import { Ground, type Swath, centroid, without } from "./swath";
import type { Area, Patch, Polygon, Rig, Ring, Way } from "./words";

const RAD = Math.PI / 180;
/** The tool swings about so far behind a turn and must be so straight when it is let down, rad. */
const SWING = 35 * RAD;
const STRAIGHT = 2 * RAD;
/** A run is this much narrower than the tool on either side, and longer at either end, m. */
const SIDE_M = 0.3;
const END_M = 1;
/** Way beyond the point of lifting that is kept free before the next turn, m. */
const OUT_M = 2;
/** A run is shortened by such steps until there is room to turn, m. */
const NOTCH_M = 2;
/** A run that covers less is none, m². */
const SPECK_M2 = 1;
/** Directions that take more runs than this are only tried where no other takes fewer. */
const LANES = 12;
/** Patches further apart than this do not share a run, m; a shared run sows again at most so much. */
const FAR_M = 600;
const AGAIN = 1.2;
/** A patch belongs to a shared run when this part of it lies within. */
const HOLDS = 0.85;
/** Where a rig card knows no tightest turn, m. */
const USUAL_TURN_M = 9;
/**
 * Beyond either end of a run there must be room for one of these turns, left or right, in so many chords, and
 * then for a straight way of so many turning radii.
 */
const AWAY = [45, 90, 135, 180];
const CHORDS = 18;
const OFF = 3;
/** Where more of a patch than this is left, m² and part, runs further aside are tried, m. */
const LEFT_M2 = 10;
const LEFT = 0.05;
const ASIDE_M = 1.5;

/** What of a patch matters here. */
export type Some = Pick<Patch, "number" | "outline" | "area_m2" | "chance" | "asks">;

/**
 * What of a rig matters on the way, m: `ahead_m` from the tool's middle forward to the tractor's rear axle,
 * `half_m` half the distance between the ranks, `lead_m` straight way needed before lowering, `turn_m` the
 * tightest turn.
 */
export interface Reach {
  readonly width_m: number;
  readonly ahead_m: number;
  readonly half_m: number;
  readonly lead_m: number;
  readonly turn_m: number;
}

/** The reach of a rig. */
export function reach({ kind, tool, cart, axle_to_pin_m, tightest_m }: Rig): Reach {
  let links = [tool.pin_to_axle_m];
  let ahead = axle_to_pin_m + tool.pin_to_axle_m;
  if (cart !== null) {
    links.push(cart.pin_to_axle_m);
    ahead += cart.pin_to_axle_m + cart.axle_to_pin_m;
  }
  if (kind === "mounted") [links, ahead] = [[0], 0];
  const settle = Math.log(Math.tan(SWING / 2) / Math.tan(STRAIGHT / 2));
  return {
    width_m: tool.width_m,
    ahead_m: ahead - (tool.front_rank_m + tool.rear_rank_m) / 2,
    half_m: (tool.front_rank_m - tool.rear_rank_m) / 2,
    lead_m: links.reduce((sum, link) => sum + link * settle, 0),
    turn_m: Math.max(tightest_m || USUAL_TURN_M, Math.max(...links) / Math.sin(SWING)),
  };
}

/**
 * One straight run of the tool: from where to where its middle goes with seed landing. `covers` maps patch
 * numbers to the area of each that it sows, m²; `twice_m2` is sown ground that it sows again. `enter` and
 * `leave` are the tractor's rear axle: where it must be straight, and where the tool is lifted.
 */
export interface Aim {
  readonly start: readonly [number, number];
  readonly end: readonly [number, number];
  readonly heading_rad: number;
  readonly length_m: number;
  readonly covers: ReadonlyMap<number, number>;
  readonly twice_m2: number;
  readonly enter: Pose;
  readonly leave: Pose;
}

/** Runs side by side that finish one patch or several in line. */
export interface Plan {
  readonly runs: readonly Aim[];
  readonly covers: ReadonlyMap<number, number>;
  readonly twice_m2: number;
}

/** On the plane: room for the tractor, what is clear of keep-outs, net and bare ground. */
export interface Field {
  readonly room: Room;
  readonly clear: readonly Ring[];
  readonly net: Ground;
  readonly bare: Ground;
}

/** Corners to a circle where a keep-out is kept clear of, as at home. */
const ROUND = 32;

/** The room inside the fence and clear of keep-outs by half the tool and a metre. */
export function fieldOf(clip: Clip, boundary: Area, keep_out: Area, bare: Area, r: Reach): Field {
  const fence = ringsOf(boundary);
  const out = ringsOf(keep_out);
  const clear =
    out.length === 0 ? fence : clip.difference(fence, clip.grown(out, r.width_m / 2 + 1, "round", ROUND));
  const inside = clip.grown(fence, 1 - r.width_m / 2, "round", ROUND);
  return {
    room: new Room(clip.intersection(clear, inside)),
    clear,
    net: new Ground(out.length === 0 ? fence : clip.difference(fence, out)),
    bare: new Ground(ringsOf(bare)),
  };
}

/** Every way worth trying to finish one patch or several in line; `headings` of the runs beside each. */
export function plans(patches: readonly Some[], headings: readonly number[], field: Field, r: Reach): Plan[] {
  const out: (Plan | null)[] = [];
  patches.forEach((patch, i) => {
    const [width, long] = narrowest(patch.outline);
    const most = Math.max(Math.ceil(width / (r.width_m - 2 * SIDE_M)), LANES);
    const tried = [long, long + Math.PI / 2, headings[i]];
    tried.forEach((heading, k) => {
      if (tried.indexOf(heading) < k) return;
      for (const way of [heading, heading + Math.PI]) {
        const made = planOf([patch], way, field, r, most, false);
        out.push(made);
        const left = patch.area_m2 - (made?.covers.get(patch.number) ?? 0);
        if (left > Math.max(LEFT_M2, LEFT * patch.area_m2)) for (const side of [1, -1, 2, -2]) out.push(planOf([patch], way, field, r, most, false, side));
      }
    });
  });
  for (const [group, way] of inLine(patches, r)) out.push(planOf(group, way, field, r, 1, true));
  return out.filter((plan): plan is Plan => plan !== null);
}

/** Heading of the run nearest to each patch, radians; 0 where there is no run. */
export function beside(patches: readonly Some[], ways: readonly Way[]): number[] {
  return patches.map(({ outline }) => {
    const [x, y] = centroid([outline]);
    let [best, heading] = [Infinity, 0];
    for (const { x_m, y_m, heading_rad } of ways) {
      for (let i = 0; i < x_m.length; i++) {
        const off = (x_m[i] - x) * (x_m[i] - x) + (y_m[i] - y) * (y_m[i] - y);
        if (off < best) [best, heading] = [off, heading_rad[i]];
      }
    }
    return heading;
  });
}

/** Narrowest width of a shape, and direction of runs across it: along the longest such edge of its hull. */
function narrowest(outline: Polygon): [number, number] {
  const corners = hull(outline.slice(0, 1));
  const n = corners.length;
  let [least, longest, heading] = [Infinity, 0, 0];
  for (let i = 0, j = n - 2; i < n; j = i, i += 2) {
    const [dx, dy] = [corners[i] - corners[j], corners[i + 1] - corners[j + 1]];
    const [side, size] = [Math.atan2(dy, dx), hypot(dx, dy)];
    const { right, left } = spanOf([corners], side);
    const wide = left - right;
    if (wide < least - 1e-6 || (wide < least + 1e-6 && size > longest)) [least, longest, heading] = [wide, size, side];
  }
  return [least, heading];
}

/** The rectangle along a heading that holds some rings. */
function spanOf(rings: readonly Ring[], heading: number): Swath {
  const [c, s] = [Math.cos(heading), Math.sin(heading)];
  let [from, to, right, left] = [Infinity, -Infinity, Infinity, -Infinity];
  for (const ring of rings) {
    for (let i = 0; i < ring.length; i += 2) {
      const along = c * ring[i] + s * ring[i + 1];
      const aside = c * ring[i + 1] - s * ring[i];
      if (along < from) from = along;
      if (along > to) to = along;
      if (aside < right) right = aside;
      if (aside > left) left = aside;
    }
  }
  return { from, to, right, left };
}

/** Groups of patches that a single swath holds, with its direction both ways round. */
function inLine(patches: readonly Some[], r: Reach): [Some[], number][] {
  const centres = patches.map(({ outline }) => centroid([outline]));
  const spread = Math.max(r.width_m, 1);
  const seen = new Set<string>();
  const out: [Some[], number][] = [];
  centres.forEach(([xi, yi], i) => {
    for (let j = i + 1; j < centres.length; j++) {
      const [dx, dy] = [centres[j][0] - xi, centres[j][1] - yi];
      if (hypot(dx, dy) > FAR_M) continue;
      const heading = Math.atan2(dy, dx);
      const [c, s] = [Math.cos(heading), Math.sin(heading)];
      const near = patches.filter((_, k) => {
        const [x, y] = [centres[k][0] - xi, centres[k][1] - yi];
        return Math.abs(c * y - s * x) < spread / 2 && Math.abs(c * x + s * y) < FAR_M;
      });
      const key = near.map(({ number }) => number).join(" ");
      if (near.length < 2 || seen.has(key)) continue;
      seen.add(key);
      out.push([near, heading], [near, heading + Math.PI]);
    }
  });
  return out;
}

/**
 * Runs in one direction over all of the patches, or null where no room is for any. `side`: how far to the left of
 * their middle: 1 flush with the patches, 2 as far beyond that as a keep-out is kept clear of.
 */
function planOf(patches: readonly Some[], heading: number, field: Field, r: Reach, most: number, one: boolean, side = 0): Plan | null {
  const [c, s] = [Math.cos(heading), Math.sin(heading)];
  const rings = patches.reduce<Ring[]>((all, { outline }) => all.concat(outline), []);
  let { right: low, left: high } = spanOf(rings, heading);
  const useful = r.width_m - 2 * SIDE_M;
  const count = one ? 1 : Math.max(Math.ceil((high - low) / useful), 1);
  if (count > most) return null;
  if (side !== 0) {
    // side by side without more overlap than is useful
    const middle = (low + high) / 2 + Math.sign(side) * (count * useful - (high - low)) / 2 + ASIDE_M * (side - Math.sign(side));
    [low, high] = [middle - (count * useful) / 2, middle + (count * useful) / 2];
  }
  const pitch = count === 1 ? 0 : (high - low - useful) / (count - 1);
  const aims: Aim[] = [];
  const done: Swath[] = [];
  for (let k = 0; k < count; k++) {
    const lane = (low + high) / 2 + (k - (count - 1) / 2) * pitch;
    const near = reachesInto(rings, c, s, lane - r.width_m / 2, lane + r.width_m / 2);
    if (near.length === 0) continue;
    const span = [Math.min(...near), Math.max(...near)] as const;
    const made = aimOf(patches, heading, lane, span, field, r, done);
    if (made === null) continue;
    aims.push(made[0]);
    done.push(made[1]);
  }
  if (aims.length === 0) return null;
  const covers = new Map<number, number>();
  for (const aim of aims) aim.covers.forEach((area, number) => covers.set(number, (covers.get(number) ?? 0) + area));
  const twice_m2 = aims.reduce((sum, aim) => sum + aim.twice_m2, 0);
  if (patches.length > 1) {
    const within = patches.filter(({ number, area_m2 }) => (covers.get(number) ?? 0) >= HOLDS * area_m2);
    const all = Array.from(covers.values()).reduce((sum, area) => sum + area, 0);
    if (within.length < 2 || twice_m2 > AGAIN * all) return null;
  }
  return { runs: aims, covers, twice_m2 };
}

/** Ways along a lane, from `low` to `high` aside of it, at which rings have a corner in it or cross its edges. */
function reachesInto(rings: readonly Ring[], c: number, s: number, low: number, high: number): number[] {
  const near: number[] = [];
  for (const ring of rings) {
    const n = ring.length;
    for (let i = 0, j = n - 2; i < n; j = i, i += 2) {
      const [along, aside] = [c * ring[i] + s * ring[i + 1], c * ring[i + 1] - s * ring[i]];
      if (aside >= low && aside <= high) near.push(along);
      const before = c * ring[j + 1] - s * ring[j];
      for (const edge of [low, high]) {
        if ((before - edge) * (aside - edge) >= 0) continue;
        const part = (before - edge) / (before - aside);
        near.push((1 - part) * (c * ring[j] + s * ring[j + 1]) + part * along);
      }
    }
  }
  return near;
}

/** Turns to either side of a pose, with a straight way after each. */
export function stubs(start: Pose, radius_m: number): Dubins[] {
  const out: Dubins[] = [];
  for (const word of ["LSS", "RSS"]) {
    for (const degrees of AWAY) {
      const [turn, off] = [radius_m * degrees * RAD, OFF * radius_m];
      out.push({ start, radius_m, word, parts_m: [turn, off, 0], length_m: turn + off });
    }
  }
  return out;
}

/** Whether one can turn away from a pose and drive on, in the direction it looks. */
export const opens = (room: Room, pose: Pose, radius_m: number): boolean => stubs(pose, radius_m).some((way) => room.fits(way, (1.001 * way.parts_m[0]) / CHORDS));

/** By how much a run must be shorter at one end for the tractor to turn away there, m. `heading` looks out. */
function short(at: (way: number) => readonly [number, number], end: number, inward: number, most: number, heading: number, field: Field, r: Reach): number {
  for (let k = 0; k * NOTCH_M < Math.max(most, 0) + NOTCH_M; k++) {
    if (opens(field.room, [...at(end + inward * k * NOTCH_M), heading], r.turn_m)) return k * NOTCH_M;
  }
  return most;
}

/** One run along a lane, as long as there is room for the tractor; and the ground it sows. */
function aimOf(patches: readonly Some[], heading: number, lane: number, span: readonly [number, number], field: Field, r: Reach, done: readonly Swath[]): [Aim, Swath] | null {
  const [c, s] = [Math.cos(heading), Math.sin(heading)];
  const at = (way: number): readonly [number, number] => [c * way - s * lane, s * way + c * lane];
  let [lo, hi] = [span[0] - r.half_m - END_M, span[1] + r.half_m + END_M];
  const from = lo + r.ahead_m - r.lead_m;
  const free = field.room.longest(...at(from), ...at(hi + r.ahead_m + OUT_M));
  if (free === null) return null;
  lo = Math.max(lo, from + free[0] - r.ahead_m + r.lead_m);
  hi = Math.min(hi, from + free[1] - r.ahead_m - OUT_M);
  // in and out: from either end of the line there must be a turn that stays inside
  lo += short(at, lo + r.ahead_m - r.lead_m, 1, hi - lo, heading + Math.PI, field, r);
  hi -= short(at, hi + r.ahead_m, -1, hi - lo, heading, field, r);
  if (hi - lo <= 2 * r.half_m + END_M) return null;
  // every rank seeds only between
  const swath = { from: lo + r.half_m, to: hi - r.half_m, right: lane - r.width_m / 2, left: lane + r.width_m / 2 };
  const fresh = without(swath, done);
  const covers = new Map<number, number>();
  let all = 0;
  for (const { number, outline } of patches) {
    const area = new Ground(ringsOf([outline])).within(fresh, heading);
    if (area > 1e-9) covers.set(number, area);
    all += area;
  }
  if (all < SPECK_M2) return null;
  const twice_m2 = Math.max(field.net.within([swath], heading) - field.bare.within(fresh, heading), 0);
  const aim: Aim = {
    start: at(lo),
    end: at(hi),
    heading_rad: heading,
    length_m: hi - lo,
    covers,
    twice_m2,
    enter: [...at(lo + r.ahead_m - r.lead_m), heading],
    leave: [...at(hi + r.ahead_m), heading],
  };
  return [aim, swath];
}
