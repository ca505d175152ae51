// What a bar sweeps: poses of the bar -> pieces of ground.
//
// A strip is the ring along the bar's left ends and back along its right ends, cut into short pieces
// that share their end edges: never one rectangle per fix (those leave slivers between them). Where the
// inner end runs backwards in a tight turn the piece is its quadrilaterals, bow-ties split at their
// crossing. All rings run anticlockwise, so that united by the nonzero rule none takes from another.
import { firstAbove, firstNotBelow, hypot, interp, interpAt, mean, median, taken } from "./columns";
import { hull, reversed, signedArea, thinnedRing } from "./rings";
import { marked } from "./spans";
import type { Trail } from "./trail";
import type { Floats, Ints, Rig, Ring } from "./words";

/** A piece of strip: at most so many poses, so much turn and so much way. */
const PIECE_POSES = 50;
const PIECE_TURN_RAD = 1;
const PIECE_M = 150;
/** Poses that the others stand for within this are not used, m; none further apart than this, m. */
const POSE_M = 0.001;
const POSE_STEP_M = 20;
/** Rings are thinned to this, m. */
const THIN_M = 0.01;
/** How the tool lies is known when it has been pulled so many of its lengths (60 degrees are 8 then). */
const PULLED = 2;
/** Back by less than this is rounding, m times twice the bar's length. */
const STILL = -1e-8;
/** The usual speed is the median while moving for so long before and after a blind stretch, s, m/s. */
const USUAL_S = 60;
const MOVING_M_S = 0.5;
/**
 * Cosine of how far the tool may lie off a line that it was pulled along; how much longer than the line
 * the way was at least where it lay further off.
 */
const ALONG = Math.SQRT1_2;
const LONGER = 1.05;

/** A stretch of bar positions without a break; columns of one length. */
export interface Poses {
  readonly t_s: Floats;
  readonly x_m: Floats;
  readonly y_m: Floats;
  readonly heading_rad: Floats;
  readonly path_m: Floats;
}

/** Some of the poses, in the order given. */
export function posesAt(poses: Poses, which: ArrayLike<number>): Poses {
  const some = (a: Floats): Floats => taken(a, which);
  return {
    t_s: some(poses.t_s),
    x_m: some(poses.x_m),
    y_m: some(poses.y_m),
    heading_rad: some(poses.heading_rad),
    path_m: some(poses.path_m),
  };
}

/** The trail from one time to another, ends interpolated, cut at backing and blind steps. */
export function posesBetween(trail: Trail, from_s: number, to_s: number): Poses[] {
  const t = trail.t_s;
  const n = t.length;
  if (to_s <= from_s || n < 2 || to_s <= t[0] || from_s >= t[n - 1]) return [];
  const [from, to] = [Math.max(from_s, t[0]), Math.min(to_s, t[n - 1])];
  const [lo, hi] = [firstAbove(t, from), firstNotBelow(t, to)];
  const times = new Float64Array(hi - lo + 2);
  times.set(t.subarray(lo, hi), 1);
  [times[0], times[hi - lo + 1]] = [from, to];
  const whole: Poses = {
    t_s: times,
    x_m: interp(times, t, trail.x_m),
    y_m: interp(times, t, trail.y_m),
    heading_rad: interp(times, t, trail.heading_rad),
    path_m: interp(times, t, trail.path_m),
  };
  const fine = Uint8Array.from({ length: hi - lo + 1 }, (_, k) =>
    trail.blind[lo - 1 + k] || trail.backing[lo - 1 + k] ? 0 : 1,
  );
  const out: Poses[] = [];
  for (const [a, b] of marked(fine)) {
    const part = posesAt(whole, Int32Array.from({ length: b - a + 1 }, (_, k) => a + k));
    if (part.path_m[part.path_m.length - 1] > part.path_m[0]) out.push(part);
  }
  return out;
}

/** Index pairs (before, after) of the trail's blind steps that touch a time span. */
export function blindBetween(trail: Trail, from_s: number, to_s: number): [number, number][] {
  const out: [number, number][] = [];
  const first = Math.max(firstAbove(trail.t_s, from_s) - 1, 0);
  const end = Math.min(firstNotBelow(trail.t_s, to_s), trail.blind.length);
  for (let k = first; k < end; k++) {
    if (trail.blind[k] && trail.t_s[k + 1] > from_s && trail.t_s[k] < to_s) out.push([k, k + 1]);
  }
  return out;
}

/** Left and right end of a rank `ahead_m` ahead of the axle, x and y by turns. */
export function barEnds(poses: Poses, ahead_m: number, width_m: number): [Floats, Floats] {
  const n = poses.t_s.length;
  const [left, right] = [new Float64Array(2 * n), new Float64Array(2 * n)];
  const half = width_m / 2;
  for (let i = 0; i < n; i++) {
    const c = Math.cos(poses.heading_rad[i]);
    const s = Math.sin(poses.heading_rad[i]);
    const x = poses.x_m[i] + ahead_m * c;
    const y = poses.y_m[i] + ahead_m * s;
    left[2 * i] = x - half * s;
    left[2 * i + 1] = y + half * c;
    right[2 * i] = x + half * s;
    right[2 * i + 1] = y - half * c;
  }
  return [left, right];
}

/** Indices at which a strip is cut into pieces, first and last included. */
export function pieceCuts(poses: Poses): Ints {
  const n = poses.t_s.length;
  const cuts = [0];
  let [turn, at] = [0, 0];
  for (let i = 1; i < n; i++) {
    turn += Math.abs(poses.heading_rad[i] - poses.heading_rad[i - 1]);
    const way = poses.path_m[i] - poses.path_m[at];
    if (i - at > PIECE_POSES || turn > PIECE_TURN_RAD || way > PIECE_M) {
      at = Math.max(at + 1, i - 1);
      cuts.push(at);
      turn = at === i ? 0 : Math.abs(poses.heading_rad[i] - poses.heading_rad[i - 1]);
    }
  }
  if (cuts[cuts.length - 1] !== n - 1) cuts.push(n - 1);
  return Int32Array.from(cuts);
}

/**
 * The poses that matter for the ground swept: an arc in m parts keeps a sagitta of ℓΔψ/8m². At ten fixes
 * a second most say nothing new. First and last are kept.
 */
export function thinned(poses: Poses, width_m: number): Poses {
  const n = poses.t_s.length;
  const keep = [0];
  let need = 0;
  for (let i = 1; i < n; i++) {
    const bend = Math.abs(poses.heading_rad[i] - poses.heading_rad[i - 1]);
    const way = hypot(poses.x_m[i] - poses.x_m[i - 1], poses.y_m[i] - poses.y_m[i - 1]);
    const parts = Math.sqrt(((way + (width_m / 2) * bend) * bend) / (8 * POSE_M));
    const before = Math.floor(need);
    need += Math.max(Math.min(parts, 1), way / POSE_STEP_M);
    if (Math.floor(need) > before || i === n - 1) keep.push(i);
  }
  return keep.length === n ? poses : posesAt(poses, keep);
}

/** The pieces of ground that one rank passed over: the rings of each piece. */
export function swept(poses: Poses, cuts: Ints, ahead_m: number, width_m: number): Ring[][] {
  const [left, right] = barEnds(poses, ahead_m, width_m);
  const pieces: Ring[][] = [];
  for (let k = 0; k + 1 < cuts.length; k++) {
    const [a, b] = [cuts[k], cuts[k + 1]];
    let plain = true;
    for (let i = a; i < b; i++) plain = plain && forward(left, right, i);
    pieces.push(plain ? [thinnedRing(ringOf(left, right, a, b), THIN_M)] : quads(left, right, a, b));
  }
  return pieces;
}

/** Whether both ends of the bar go forward in a step, and the bar does not cross where it was. */
function forward(left: Floats, right: Floats, i: number): boolean {
  const j = 2 * i;
  // the way ahead is square to the bar's middle direction; here it is twice as long as the bar
  const x = left[j + 1] - right[j + 1] + left[j + 3] - right[j + 3];
  const y = right[j] - left[j] + right[j + 2] - left[j + 2];
  return (
    (left[j + 2] - left[j]) * x + (left[j + 3] - left[j + 1]) * y >= STILL &&
    (right[j + 2] - right[j]) * x + (right[j + 3] - right[j + 1]) * y >= STILL &&
    crossing(left, right, i) === null
  );
}

/** The ring out along the right ends and back along the left ones. */
function ringOf(left: Floats, right: Floats, a: number, b: number): Ring {
  const n = b - a + 1;
  const ring = new Float64Array(4 * n);
  ring.set(right.subarray(2 * a, 2 * b + 2));
  for (let i = 0; i < n; i++) {
    ring[2 * n + 2 * i] = left[2 * (b - i)];
    ring[2 * n + 2 * i + 1] = left[2 * (b - i) + 1];
  }
  return ring;
}

/** What each step sweeps, bow-ties (bars that cross) as their two triangles. */
function quads(left: Floats, right: Floats, a: number, b: number): Ring[] {
  const out: Ring[] = [];
  for (let i = a; i < b; i++) {
    const j = 2 * i;
    const meet = crossing(left, right, i);
    const [la, lb] = [left.subarray(j, j + 2), left.subarray(j + 2, j + 4)];
    const [ra, rb] = [right.subarray(j, j + 2), right.subarray(j + 2, j + 4)];
    const rings =
      meet === null
        ? [[...la, ...ra, ...rb, ...lb]]
        : [
            [...meet, ...ra, ...rb],
            [...meet, ...lb, ...la],
          ];
    for (const ring of rings.map((points) => Float64Array.from(points))) {
      const size = signedArea(ring);
      if (size !== 0) out.push(size > 0 ? ring : reversed(ring));
    }
  }
  return out;
}

/** Where the bar at one pose crosses the bar at the next, null where it does not. */
function crossing(left: Floats, right: Floats, i: number): [number, number] | null {
  const j = 2 * i;
  const ux = right[j] - left[j];
  const uy = right[j + 1] - left[j + 1];
  const vx = right[j + 2] - left[j + 2];
  const vy = right[j + 3] - left[j + 3];
  const bend = ux * vy - uy * vx;
  if (bend === 0) return null;
  const dx = left[j + 2] - left[j];
  const dy = left[j + 3] - left[j + 1];
  const first = (dx * vy - dy * vx) / bend;
  const second = (dx * uy - dy * ux) / bend;
  const tied = first > 0 && first < 1 && second > 0 && second < 1;
  return tied ? [left[j] + first * ux, left[j + 1] + first * uy] : null;
}

/**
 * Speed to reckon a blind stretch with, m/s: the faster of that at its ends and the usual one. Its ends
 * alone may lie in a turn, and were then slower than what was driven between them.
 */
function usual({ t_s, speed_m_s }: Trail, before: number, after: number): number {
  const ends = [speed_m_s.slice(Math.max(before - 5, 0), before + 1), speed_m_s.slice(after, after + 6)];
  const moving: number[] = [];
  for (let s = 1; s <= USUAL_S; s++) {
    for (const at of [t_s[before] - s, t_s[after] + s]) {
      const speed = Math.abs(interpAt(at, t_s, speed_m_s));
      if (speed > MOVING_M_S) moving.push(speed);
    }
  }
  return Math.max(moving.length > 0 ? median(moving) : 0, mean(ends.map((v) => mean(v.map(Math.abs)))));
}

/**
 * Ground that may have been sown in a blind stretch, as rings that may overlap.
 *
 * Driven straight, it is the strip between the bar before and after. Where the way at the usual speed is
 * longer than the straight line, or the tool lay across that line before or after, it may have been
 * anywhere that way reaches: an ellipse about both places, half a width wider.
 */
export function blindSwath(trail: Trail, before: number, after: number, width_m: number): Ring[] {
  const at = [before, after];
  const poses = posesAt(trail, at);
  const [left, right] = barEnds(poses, 0, width_m);
  const straight = hull([left, right]);
  const [dx, dy] = [poses.x_m[1] - poses.x_m[0], poses.y_m[1] - poses.y_m[0]];
  const apart = hypot(dx, dy);
  let way = usual(trail, before, after) * (poses.t_s[1] - poses.t_s[0]);
  const along = Math.atan2(dy, dx);
  const off = poses.heading_rad.some((h) => Math.cos(h - along) <= ALONG);
  if (apart >= 0.9 * way && !off) return [straight];
  way = Math.max(way, LONGER * apart);
  const [a, b] = [way / 2, Math.sqrt(way ** 2 - apart ** 2) / 2];
  const ring = new Float64Array(64);
  for (let k = 0; k < 32; k++) {
    const turn = (2 * Math.PI * k) / 32;
    // the point on the ellipse, and from there half a width straight out
    const [nx, ny] = [b * Math.cos(turn), a * Math.sin(turn)];
    const size = width_m / 2 / Math.max(hypot(nx, ny), 1e-9);
    const u = a * Math.cos(turn) + nx * size;
    const v = b * Math.sin(turn) + ny * size;
    ring[2 * k] = mean(poses.x_m) + u * Math.cos(along) - v * Math.sin(along);
    ring[2 * k + 1] = mean(poses.y_m) + u * Math.sin(along) + v * Math.cos(along);
  }
  return [ring, straight];
}

/**
 * Ground that the tool may have reached while nobody knows yet how it lay behind the tractor.
 *
 * Until it has been pulled twice its length from where the track begins: what each rank passes over when
 * it swings to either side by one sigma of its heading, turned about its own pin.
 */
export function swung(trail: Trail, { kind, tool }: Rig, from_s: number, to_s: number): Ring[] {
  const out: Ring[] = [];
  if (kind === "mounted") return out;
  const { pin_to_axle_m: back, offset_left_m: left } = tool;
  const known_s = interpAt(PULLED * back, trail.path_m, trail.t_s);
  for (const poses of posesBetween(trail, from_s, Math.min(to_s, known_s))) {
    const sigma = interp(poses.t_s, trail.t_s, trail.swing_sigma_rad);
    const was = poses.heading_rad;
    for (const side of [1, -1]) {
      const heading_rad = was.map((h, i) => h + side * sigma[i]);
      const cos = was.map((h, i) => Math.cos(h) - Math.cos(heading_rad[i]));
      const sin = was.map((h, i) => Math.sin(h) - Math.sin(heading_rad[i]));
      const x_m = poses.x_m.map((x, i) => x + back * cos[i] + left * sin[i]);
      const y_m = poses.y_m.map((y, i) => y + back * sin[i] - left * cos[i]);
      const to = { ...poses, x_m, y_m, heading_rad };
      for (const ahead of new Set([tool.front_rank_m, tool.rear_rank_m])) {
        for (const rings of swept(to, pieceCuts(to), ahead, tool.width_m)) out.push(...rings);
      }
    }
  }
  return out;
}
