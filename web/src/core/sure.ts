// How sure: every draw of the picture is swept on a grid and counted.
//
// Bare ground of a draw is net ground that no rank reached in it, less what is doubt or out of reach
// anyway. The mean over draws is the estimate of all bare ground, the 5 and 95 % points are its band, and
// a patch's chance is the share of draws in which most of it is bare.
import type { Chance } from "./chance";
import type { Clip } from "./clip";
import { byKey, interpAt, mean, quantile, taken } from "./columns";
import type { Picture, Stretch } from "./picture";
import { type Grid, columnOf, crossings, gridOver, noBits, ones, paintQuads, rowOf, setBits } from "./raster";
import { ringsOf } from "./rings";
import { barEnds, posesAt } from "./sweep";
import type { Area, Floats, Ints, Polygon, Ring } from "./words";

/** Poses are thinned for sweeping: this far apart on straights, and this much turn, m and rad. */
const STEP_M = 12;
const STEP_RAD = 0.15;
/**
 * The draws share one model of steering, fence and drift, and that model is never quite the day's. On
 * simulated days kept for tuning their 5 to 95 % band held the truth too rarely until it was this much
 * wider, and wider yet where the drift is large beside the working width (runs are then easily paired
 * wrongly).
 */
const WIDEN = 1.5;
const WIDEN_MORE = 2;
const NARROW = 0.2;
/**
 * A patch is there in a draw when this part of it is bare. Its outline is the best picture's, in which it
 * was large enough to be seen: half of it would be kept by too many draws. On days kept for tuning this
 * part made chances agree with what was real. An exact picture needs only half.
 */
const THERE = 2 / 3;
const THERE_EXACT = 0.5;
/**
 * Doubt lies where the picture has it in every draw, but its border drifts too. In half the draws it is
 * nearer by so many spreads of the drift: the middles of the upper four of eight equal chances.
 */
const NEARER = [0.157, 0.489, 0.887, 1.534];

/**
 * What the draws say: bare area of each draw, m², and each patch's chance. `picture_m2` is the bare area
 * of the best picture, long strips counted by their chance; `drift_w` the drift between two runs in
 * working widths, 0 where nothing was settled.
 */
export interface Sure {
  readonly bare_m2: Floats;
  readonly chances: Floats;
  readonly picture_m2: number;
  readonly drift_w: number;
}

/**
 * The estimate of all bare ground, m²: the mean over draws. The best picture hides slivers: it shows every
 * seam at its most likely place.
 */
export function bestOf(sure: Sure): number {
  if (sure.drift_w === 0 || sure.bare_m2.length === 0) return sure.picture_m2;
  return mean(sure.bare_m2);
}

/** The 5 to 95 % band of bare ground about the estimate, m². */
export function bandOf(sure: Sure): [number, number] {
  const best = bestOf(sure);
  if (sure.bare_m2.length === 0) return [best, best];
  const [low, high] = [quantile(sure.bare_m2, 0.05), quantile(sure.bare_m2, 0.95)];
  const middle = mean(sure.bare_m2);
  const more = WIDEN_MORE * Math.max(sure.drift_w - NARROW, 0);
  const wider = sure.drift_w > 0 ? WIDEN * (1 + more) : 1;
  return [Math.max(best - wider * (middle - low), 0), best + wider * (high - middle)];
}

/** What is to be counted: `aside` is doubt and unreachable ground, not counted as bare. */
export interface Wanted {
  /** Its draws may still come: so many in all, and each before it is counted. */
  readonly picture: Picture;
  readonly draws: number;
  readonly net: Area;
  readonly aside: readonly Ring[];
  /** Bare area of the picture itself by polygons: the grid's own error is taken off. */
  readonly bare_m2: number;
  readonly patches: readonly Polygon[];
  /** The most that may be said of each. */
  readonly most: readonly number[];
  /** Doubt pushed out, see `nearer`: a patch is not there in a draw where it leaves too little of it. */
  readonly vague: readonly (readonly Ring[])[];
}

/** Doubt with its border pushed out as far as the drift may have it; none where none drifts. */
export function nearer(clip: Clip, doubt: Area, { info, sigma_m }: Picture): Ring[][] {
  if (info === null || doubt.length === 0) return [];
  return NEARER.map((z) => clip.grown(ringsOf(doubt), z * sigma_m));
}

/**
 * Sweeps all draws, one at a time; yields how many are counted. Chance decides in which draws a strip is there that
 * may not be.
 */
export function* countDraws(wanted: Wanted, luck: Chance): Generator<number, Sure, void> {
  const { picture, patches, most, bare_m2: picture_m2, draws } = wanted;
  const widest = picture.stretches.reduce((width, x) => Math.max(width, x.width_m), 0);
  const drift_m = picture.info === null ? 0 : picture.sigma_m;
  const drift_w = (Math.SQRT2 * drift_m) / (widest > 0 ? widest : 1);
  const there = picture.info === null ? THERE_EXACT : THERE;
  if (draws === 0 || wanted.net.length === 0) {
    return { bare_m2: new Float64Array(0), chances: Float64Array.from(most), picture_m2, drift_w };
  }
  const net = ringsOf(wanted.net);
  const grid = gridOver(net, mainHeading(picture.stretches));
  const filled = (rings: readonly Ring[]): Ints => {
    const [bits, at] = [noBits(grid), crossings(grid, rings)];
    for (let k = 0; k + 1 < at.length; k += 2) setBits(bits, at[k], at[k + 1]);
    return bits;
  };
  const open = filled(net);
  filled(wanted.aside).forEach((word, i) => (open[i] &= ~word));
  const cells = patches.map((outline) => masksOf(crossings(grid, outline)));
  const quads = quadsOf(picture, grid);
  const sown = noBits(grid);
  paintQuads(grid, quads.u, quads.v, sown);
  const cell_m2 = grid.cell_m ** 2;
  const off = picture_m2 - left(open, sown) * cell_m2;
  const bare_m2 = new Float64Array(draws);
  const shares = patches.map(() => new Float64Array(draws));
  const clear = patches.map(() => new Float64Array(draws));
  const near = wanted.vague.map(filled);
  const [u, v] = [quads.u.slice(), quads.v.slice()];
  for (let k = 0; k < draws; k++) {
    displace(quads, grid, picture.east_draws[k], picture.north_draws[k], u, v);
    sown.fill(0);
    paintQuads(grid, u, v, sown);
    bare_m2[k] = Math.max(left(open, sown) * cell_m2 + off, 0);
    const vague = k % 2 === 1 ? near[(k >> 1) % near.length] : undefined;
    cells.forEach(({ word, mask, size }, p) => {
      let [bare, free] = [0, 0];
      for (let i = 0; i < word.length; i++) {
        const not = mask[i] & ~sown[word[i]];
        bare += ones(not);
        free += vague === undefined ? 0 : ones(not & ~vague[word[i]]);
      }
      shares[p][k] = bare / Math.max(size, 1);
      clear[p][k] = vague === undefined ? shares[p][k] : free / Math.max(size, 1);
    });
    yield k + 1;
  }
  const chances = new Float64Array(patches.length);
  let doubted_m2 = 0;
  cells.forEach(({ size }, p) => {
    const size_m2 = size * cell_m2;
    const kept = clear[p].filter((share) => share > there).length / draws;
    chances[p] = Math.min(kept, most[p]);
    doubted_m2 += (1 - most[p]) * size_m2;
    // evenly over the draws: each strip is left out of its share of them, whatever the others are
    luck.ranks(draws).forEach((rank, k) => {
      if (rank + 0.5 >= most[p] * draws) bare_m2[k] -= shares[p][k] * size_m2;
    });
  });
  for (let k = 0; k < draws; k++) bare_m2[k] = Math.max(bare_m2[k], 0);
  return { bare_m2, chances, picture_m2: picture_m2 - doubted_m2, drift_w };
}

/** How many open cells are not sown. */
function left(open: Ints, sown: Ints): number {
  let total = 0;
  for (let i = 0; i < open.length; i++) {
    const not = open[i] & ~sown[i];
    if (not !== 0) total += ones(not);
  }
  return total;
}

/** A patch's cells: words of bits, and which bits of them. */
interface Masks {
  readonly word: Ints;
  readonly mask: Ints;
  readonly size: number;
}

function masksOf(at: Ints): Masks {
  const [word, mask]: number[][] = [[], []];
  let size = 0;
  for (let k = 0; k + 1 < at.length; k += 2) {
    size += at[k + 1] - at[k];
    for (let from = at[k]; from < at[k + 1]; from = (from | 31) + 1) {
      const to = Math.min(at[k + 1], (from | 31) + 1);
      word.push(from >> 5);
      mask.push((-1 << (from & 31)) & (-1 >>> (-to & 31)));
    }
  }
  return { word: Int32Array.from(word), mask: Int32Array.from(mask), size };
}

/** The direction most way was driven in, modulo a half turn, radians. */
function mainHeading(stretches: readonly Stretch[]): number {
  const bins = new Float64Array(180);
  for (const { poses } of stretches) {
    for (let i = 0; i + 1 < poses.t_s.length; i++) {
      const turn = poses.heading_rad[i] / Math.PI;
      const bin = Math.floor((turn - Math.floor(turn)) * 180) % 180;
      bins[bin] += poses.path_m[i + 1] - poses.path_m[i];
    }
  }
  let most = 0;
  for (let k = 1; k < 180; k++) if (bins[k] > bins[most]) most = k;
  return stretches.length === 0 ? 0 : ((most + 0.5) / 180) * Math.PI;
}

/**
 * Corners in cells, four a quad; the pose at each quad's rear (the next one is at its front); and with which
 * sample a pose moves, and its part of the way to the next.
 */
interface Quads {
  readonly u: Floats;
  readonly v: Floats;
  readonly pose: Ints;
  readonly owner: Ints;
  readonly part: Floats;
}

/**
 * All strips' quads. A quad reaches from the rear rank at one pose to the front rank at the next: what
 * any rank passed over between the two.
 */
function quadsOf(picture: Picture, grid: Grid): Quads {
  const s = picture.samples;
  const { start, index } = byKey(s.stretch, picture.stretches.length);
  const [u, v, pose, owner, part]: number[][] = [[], [], [], [], []];
  picture.stretches.forEach((stretch, number) => {
    const mine = index.subarray(start[number], start[number + 1]);
    const times = taken(s.t_s, mine);
    const places = Float64Array.from(mine, (_, i) => i);
    const { poses, width_m, front_m, rear_m } = stretch;
    const kept = posesAt(poses, thinnedPoses(stretch));
    const rear = barEnds(kept, rear_m, width_m);
    const front = barEnds(kept, front_m, width_m);
    const put = (ends: Floats, k: number): void => {
      u.push(columnOf(grid, ends[2 * k], ends[2 * k + 1]));
      v.push(rowOf(grid, ends[2 * k], ends[2 * k + 1]));
    };
    for (let k = 0; k < kept.t_s.length; k++) {
      if (k > 0) {
        pose.push(owner.length - 1);
        put(rear[0], k - 1);
        put(rear[1], k - 1);
        put(front[1], k);
        put(front[0], k);
      }
      const at = interpAt(kept.t_s[k], times, places);
      const low = Math.min(Math.floor(at), Math.max(mine.length - 2, 0));
      owner.push(mine[low]);
      part.push(Math.min(Math.max(at - low, 0), 1));
    }
  });
  return {
    u: Float64Array.from(u),
    v: Float64Array.from(v),
    pose: Int32Array.from(pose),
    owner: Int32Array.from(owner),
    part: Float64Array.from(part),
  };
}

/** The quads' corners moved by one draw's displacement at their samples, into `u` and `v`. */
function displace({ owner, part, pose, ...at }: Quads, grid: Grid, east: Floats, north: Floats, u: Floats, v: Floats): void {
  const c = grid.cos / grid.cell_m;
  const s = grid.sin / grid.cell_m;
  const du = new Float64Array(owner.length);
  const dv = new Float64Array(owner.length);
  for (let i = 0; i < owner.length; i++) {
    const k = owner[i];
    const next = part[i] > 0 ? k + 1 : k;
    const dx = (1 - part[i]) * east[k] + part[i] * east[next];
    const dy = (1 - part[i]) * north[k] + part[i] * north[next];
    du[i] = c * dx + s * dy;
    dv[i] = c * dy - s * dx;
  }
  for (let i = 0; i < u.length; i++) {
    const k = pose[i >> 2] + ((i >> 1) & 1);
    u[i] = at.u[i] + du[k];
    v[i] = at.v[i] + dv[k];
  }
}

/** Indices of poses no more than STEP_M and STEP_RAD apart, first and last included. */
function thinnedPoses(stretch: Stretch): number[] {
  const { poses: p } = stretch;
  const n = p.t_s.length;
  const keep = [0];
  let turn = 0;
  let next = 1;
  for (let i = 1; i < n; i++) {
    turn += Math.abs(p.heading_rad[i] - p.heading_rad[i - 1]);
    const score = (p.path_m[i] - p.path_m[0]) / STEP_M + turn / STEP_RAD;
    if (score < next && i < n - 1) continue;
    keep.push(i);
    next = Math.max(next, Math.floor(score) + 1);
  }
  return keep;
}
