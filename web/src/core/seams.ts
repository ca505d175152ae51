// What the seams say of the drift: gaps between neighbouring runs.
//
// The driver steers by the last furrow. A seam is observed once, from the later run, on the side
// that was steered by.
import { Near } from "./near";
import { AGO_S, CHAIN, SAMPLE_M, noGaps, oneWidth, select } from "./samples";
import type { Gaps, Samples } from "./samples";
import type { Floats, Ints } from "./words";

/** A neighbour is parallel within this, and lies between these many widths. */
const PARALLEL = Math.sin((10 * Math.PI) / 180);
const [NEAREST_W, FARTHEST_W] = [0.4, 2.4];
/** A chain that covers less than this part of its run says nothing, unless it has so many rows. */
const [PART, WHOLE] = [0.3, 25];

/** A later sample, an earlier one beside it, and on which side: 1 left, −1 right. */
interface Pair {
  readonly later: number;
  readonly earlier: number;
  readonly side: number;
}

/**
 * Gaps between neighbouring parallel runs.
 *
 * `s` are samples as logged; (`movedX`, `movedY`) the best present guess of their true places, used
 * for pairing only. A chain counts as neighbours when its middle gap there is below `mostW` of a
 * width: nearer to two widths it may be a run left out, and pulls nothing.
 */
export function seams(s: Samples, movedX: Floats, movedY: Floats, mostW: number): Gaps {
  if (s.t_s.length < 3) return noGaps();
  const pairs = neighbours(s, movedX, movedY);
  const n = pairs.length;
  if (n === 0) return noGaps();
  const rows = {
    gap_m: new Float64Array(n),
    who: new Int32Array(3 * n),
    east: new Float64Array(3 * n),
    north: new Float64Array(3 * n),
    chain: chains(s, pairs),
    width_m: new Float64Array(n),
  };
  const movedGap = new Float64Array(n);
  pairs.forEach(({ later, earlier, side }, i) => {
    const [other, part] = foot(s, movedX, movedY, later, earlier);
    const east = -side * Math.sin(s.heading_rad[later]);
    const north = side * Math.cos(s.heading_rad[later]);
    const width = (s.width_m[later] + s.width_m[earlier]) / 2;
    const across = (x: Floats, y: Floats): number =>
      east * ((1 - part) * x[earlier] + part * x[other] - x[later]) +
      north * ((1 - part) * y[earlier] + part * y[other] - y[later]);
    rows.width_m[i] = width;
    rows.gap_m[i] = across(s.x_m, s.y_m) - width;
    movedGap[i] = across(movedX, movedY) - width;
    rows.who.set([later, earlier, other], 3 * i);
    // true = logged − drift: the gap changes by −side·n·(B_earlier − B_later)
    rows.east.set([east, -(1 - part) * east, -part * east], 3 * i);
    rows.north.set([north, -(1 - part) * north, -part * north], 3 * i);
  });
  return steeredBy(s, select({ ...rows }, oneWidth(rows, movedGap, mostW)));
}

/**
 * For every sample and side the nearest parallel sample, where that was sown before.
 *
 * What was sown later counts for nearness: a run with another one in between is nobody's neighbour.
 */
function neighbours(s: Samples, x: Floats, y: Floats): Pair[] {
  const reach = FARTHEST_W * s.width_m.reduce((a, b) => Math.max(a, b), 0) + SAMPLE_M;
  const near = new Near(x, y, reach / 2);
  const out: Pair[] = [];
  const [cos, sin] = [s.heading_rad.map(Math.cos), s.heading_rad.map(Math.sin)];
  const best = [-1, -1];
  const least = [Infinity, Infinity];
  const ratios = [0, 0];
  for (let i = 0; i < x.length; i++) {
    best.fill(-1);
    least.fill(Infinity);
    const c = cos[i];
    const n = sin[i];
    for (const j of near.within(x[i], y[i], reach)) {
      if (!(Math.abs(s.t_s[i] - s.t_s[j]) > AGO_S)) continue;
      if (!(Math.abs(n * cos[j] - c * sin[j]) < PARALLEL)) continue;
      const dx = x[j] - x[i];
      const dy = y[j] - y[i];
      const along = Math.abs(c * dx + n * dy);
      if (along > 0.6 * SAMPLE_M) continue;
      const beside = -n * dx + c * dy;
      const width = (s.width_m[i] + s.width_m[j]) / 2;
      if (!(Math.abs(beside) > 0.25 * width)) continue;
      const which = beside < 0 ? 0 : 1;
      const off = Math.abs(beside) + 0.05 * along;
      if (off >= least[which]) continue;
      least[which] = off;
      best[which] = j;
      ratios[which] = Math.abs(beside) / width;
    }
    for (let which = 0; which < 2; which++) {
      const j = best[which];
      const near_w = ratios[which];
      if (j < 0 || near_w <= NEAREST_W || near_w >= FARTHEST_W || s.t_s[i] <= s.t_s[j]) continue;
      out.push({ later: i, earlier: j, side: which === 0 ? -1 : 1 });
    }
  }
  return out;
}

/**
 * The earlier run at the foot of the perpendicular: the sample on its far side, and how near to it.
 */
function foot(s: Samples, x: Floats, y: Floats, later: number, earlier: number): [number, number] {
  const [c, n] = [Math.cos(s.heading_rad[later]), Math.sin(s.heading_rad[later])];
  const along = (j: number): number => c * (x[j] - x[later]) + n * (y[j] - y[later]);
  const here = along(earlier);
  let found: [number, number] = [earlier, 0];
  for (const j of [Math.max(earlier - 1, 0), Math.min(earlier + 1, x.length - 1)]) {
    const there = along(j);
    if (s.stretch[j] === s.stretch[earlier] && here * there < 0) found = [j, here / (here - there)];
  }
  return found;
}

/** Number rows that follow each other along the same two stretches on the same side. */
function chains(s: Samples, pairs: readonly Pair[]): Ints {
  const [own, beside] = [
    Int32Array.from(pairs, (pair) => s.stretch[pair.later]),
    Int32Array.from(pairs, (pair) => s.stretch[pair.earlier]),
  ];
  const rows = Int32Array.from(pairs, (_, i) => i).sort(
    (i, j) =>
      own[i] - own[j] ||
      beside[i] - beside[j] ||
      pairs[i].side - pairs[j].side ||
      pairs[i].later - pairs[j].later,
  );
  const out = new Int32Array(pairs.length);
  let chain = 1;
  for (let k = 0; k < rows.length; k++) {
    const [i, before] = [rows[k], rows[Math.max(k - 1, 0)]];
    if (
      own[i] !== own[before] ||
      beside[i] !== beside[before] ||
      pairs[i].side !== pairs[before].side ||
      pairs[i].later - pairs[before].later > 3
    ) {
      chain += 1;
    }
    out[i] = chain;
  }
  return out;
}

/**
 * Leave out short chains, fragments, and the side that nobody steered by.
 *
 * A fragment is a chain that covers little of the later run while another chain on the same side
 * covers more: there the nearest run is not the one that was followed.
 */
function steeredBy(s: Samples, rows: Gaps): Gaps {
  const n = rows.chain.length;
  const most = rows.chain.reduce((a, b) => Math.max(a, b), 0) + 1;
  const size = new Int32Array(most);
  const age = new Float64Array(most);
  for (let i = 0; i < n; i++) {
    size[rows.chain[i]] += 1;
    age[rows.chain[i]] = Math.max(age[rows.chain[i]], s.t_s[rows.who[3 * i + 1]]);
  }
  const length = new Int32Array(s.stretch.reduce((a, b) => Math.max(a, b), 0) + 1);
  s.stretch.forEach((stretch) => (length[stretch] += 1));
  const freshest = new Float64Array(s.t_s.length);
  const whole: number[] = [];
  for (let i = 0; i < n; i++) {
    const later = rows.who[3 * i];
    const rowsOf = size[rows.chain[i]];
    if (rowsOf < CHAIN || rowsOf < Math.min(PART * length[s.stretch[later]], WHOLE)) continue;
    whole.push(i);
    freshest[later] = Math.max(freshest[later], age[rows.chain[i]]);
  }
  const kept = whole.filter((i) => age[rows.chain[i]] >= freshest[rows.who[3 * i]] - 1e-9);
  kept.sort((i, j) => rows.chain[i] - rows.chain[j] || rows.who[3 * i] - rows.who[3 * j]);
  return select(rows, kept);
}
