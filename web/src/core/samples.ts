// Points along all runs, and gaps between edges seen from them.
//
// What a day says of the drift of its own picture is written as gaps: a signed distance in metres
// (positive: bare ground between) with the samples of the path whose drift it depends on.
import { byKey, interp, linspace, order, taken, where } from "./columns";
import type { Poses } from "./sweep";
import type { Floats, Ints } from "./words";

/** Samples lie about this far apart along a run, m. */
export const SAMPLE_M = 12;
/** Only ground sown longer ago than this is a furrow to steer by, s. */
export const AGO_S = 40;
/** A chain of samples shorter than this says nothing about steering. */
export const CHAIN = 5;

/**
 * Points along all runs, in time order: the middle of the bar, its heading, the run's index, an
 * index of the unbroken stretch, the phone's leg and the working width; columns of one length.
 */
export interface Samples {
  readonly t_s: Floats;
  readonly x_m: Floats;
  readonly y_m: Floats;
  readonly heading_rad: Floats;
  readonly run: Ints;
  readonly stretch: Ints;
  readonly leg: Ints;
  readonly width_m: Floats;
}

/**
 * Observed gaps, one row each: gap_m + Σ a·B is the true gap, B the drift at samples.
 *
 * `who` holds three sample indices a row, `east` and `north` three coefficients of their drift.
 * `chain` numbers rows that follow each other along one pair of runs; `width_m` is the working
 * width.
 */
export interface Gaps {
  readonly gap_m: Floats;
  readonly who: Ints;
  readonly east: Floats;
  readonly north: Floats;
  readonly chain: Ints;
  readonly width_m: Floats;
}

/** What of a stretch is sampled: its run, its phone's leg, its bar and where that went. */
export interface Sampled {
  readonly run: number;
  readonly leg: number;
  readonly front_m: number;
  readonly rear_m: number;
  readonly width_m: number;
  readonly poses: Poses;
}

/** Samples of the given stretches: the middle of the ranks. */
export function samples(stretches: readonly Sampled[]): Samples {
  const counts = stretches.map(({ poses: { path_m: way } }) =>
    Math.max(2, Math.floor((way[way.length - 1] - way[0]) / SAMPLE_M) + 1),
  );
  const n = counts.reduce((sum, count) => sum + count, 0);
  const [t, x, y, h, width] = [0, 1, 2, 3, 4].map(() => new Float64Array(n));
  const [run, stretch, leg] = [0, 1, 2].map(() => new Int32Array(n));
  let to = 0;
  stretches.forEach(({ poses, ...one }, number) => {
    const way = poses.path_m;
    const at = linspace(way[0], way[way.length - 1], counts[number]);
    const end = to + at.length;
    const ahead = (one.front_m + one.rear_m) / 2;
    t.set(interp(at, way, poses.t_s), to);
    x.set(interp(at, way, poses.x_m), to);
    y.set(interp(at, way, poses.y_m), to);
    h.set(interp(at, way, poses.heading_rad), to);
    for (let i = to; i < end; i++) {
      x[i] += ahead * Math.cos(h[i]);
      y[i] += ahead * Math.sin(h[i]);
    }
    run.fill(one.run, to, end);
    stretch.fill(number, to, end);
    leg.fill(one.leg, to, end);
    width.fill(one.width_m, to, end);
    to = end;
  });
  const rows = order(t);
  rows.sort((i, j) => leg[i] - leg[j] || t[i] - t[j] || i - j);
  return {
    t_s: taken(t, rows),
    x_m: taken(x, rows),
    y_m: taken(y, rows),
    heading_rad: taken(h, rows),
    run: taken(run, rows),
    stretch: taken(stretch, rows),
    leg: taken(leg, rows),
    width_m: taken(width, rows),
  };
}

/** Rows of chains whose middle gap is that of neighbours, not of runs two widths apart. */
export function oneWidth(rows: Gaps, gap_m: Floats, most: number): Ints {
  const n = rows.chain.length;
  const count = rows.chain.reduce((a, b) => Math.max(a, b), 0) + 1;
  const { start, index } = byKey(rows.chain, count);
  const near = new Uint8Array(count);
  for (let chain = 0; start[chain] < n; chain++) {
    const gaps = Float64Array.from(index.subarray(start[chain], start[chain + 1]), (i) => gap_m[i] / rows.width_m[i]).sort();
    if (Math.abs(gaps[gaps.length >> 1]) < most) near[chain] = 1;
  }
  return where(rows.chain.map((chain) => near[chain]));
}

/**
 * By how much the true gap of a row differs from the logged one where the drift is (east, north).
 */
export function gapChange(rows: Gaps, row: number, east: Floats, north: Floats): number {
  let by = 0;
  for (let k = 3 * row; k < 3 * row + 3; k++) {
    by += rows.east[k] * east[rows.who[k]] + rows.north[k] * north[rows.who[k]];
  }
  return by;
}

/** Rows found in a picture moved by (−east, −north), with their gaps as logged. */
export function unmoved(rows: Gaps, east: Floats, north: Floats): Gaps {
  return { ...rows, gap_m: rows.gap_m.map((gap, i) => gap - gapChange(rows, i, east, north)) };
}

/** Some of the rows, in the order given. */
export function select(rows: Gaps, which: ArrayLike<number>): Gaps {
  const threes = new Int32Array(3 * which.length);
  for (let k = 0; k < threes.length; k++) threes[k] = 3 * which[(k / 3) | 0] + (k % 3);
  return {
    gap_m: taken(rows.gap_m, which),
    who: taken(rows.who, threes),
    east: taken(rows.east, threes),
    north: taken(rows.north, threes),
    chain: taken(rows.chain, which),
    width_m: taken(rows.width_m, which),
  };
}

/** No rows at all. */
export function noGaps(): Gaps {
  const none = new Float64Array(0);
  const whole = new Int32Array(0);
  return { gap_m: none, who: whole, east: none, north: none, chain: whole, width_m: none };
}
