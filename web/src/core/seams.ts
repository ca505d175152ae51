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
  const { x_m, y_m, heading_rad, stretch, width_m } = s;
  const [cos, sin] = [heading_rad.map(Math.cos), heading_rad.map(Math.sin)];
  const pairs = neighbours(s, movedX, movedY, cos, sin);
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
  for (let i = 0; i < n; i++) {
    const { later, earlier, side } = pairs[i];
    const [c, d] = [cos[later], sin[later]];
    // the earlier run at the foot of the perpendicular: the sample on its far side, and how near to it
    const along = (j: number): number => c * (movedX[j] - movedX[later]) + d * (movedY[j] - movedY[later]);
    const here = along(earlier);
    let [other, part] = [earlier, 0];
    for (let j = earlier - 1; j < earlier + 2; j += 2) {
      if (stretch[j] !== stretch[earlier]) continue;
      const there = along(j);
      if (here * there < 0) [other, part] = [j, here / (here - there)];
    }
    const rest = 1 - part;
    const [east, north] = [-side * d, side * c];
    const width = (width_m[later] + width_m[earlier]) / 2;
    const across = (x: Floats, y: Floats): number =>
      east * (rest * x[earlier] + part * x[other] - x[later]) +
      north * (rest * y[earlier] + part * y[other] - y[later]);
    rows.width_m[i] = width;
    rows.gap_m[i] = across(x_m, y_m) - width;
    movedGap[i] = across(movedX, movedY) - width;
    const at = 3 * i;
    rows.who[at] = later;
    rows.who[at + 1] = earlier;
    rows.who[at + 2] = other;
    // true = logged − drift: the gap changes by −side·n·(B_earlier − B_later)
    rows.east[at] = east;
    rows.east[at + 1] = -rest * east;
    rows.east[at + 2] = -part * east;
    rows.north[at] = north;
    rows.north[at + 1] = -rest * north;
    rows.north[at + 2] = -part * north;
  }
  return steeredBy(s, select(rows, oneWidth(rows, movedGap, mostW)));
}

/**
 * For every sample and side the nearest parallel sample, where that was sown before.
 *
 * What was sown later counts for nearness: a run with another one in between is nobody's neighbour.
 */
function neighbours(s: Samples, x: Floats, y: Floats, cos: Floats, sin: Floats): Pair[] {
  const reach = FARTHEST_W * s.width_m.reduce((a, b) => Math.max(a, b), 0) + SAMPLE_M;
  const near = new Near(x, y, reach / 2);
  const out: Pair[] = [];
  const best = [-1, -1];
  const least = [Infinity, Infinity];
  const ratios = [0, 0];
  for (let i = 0; i < x.length; i++) {
    best.fill(-1);
    least.fill(Infinity);
    const c = cos[i];
    const n = sin[i];
    const hits = near.within(x[i], y[i], reach);
    for (let k = 0; k < hits.length; k++) {
      const j = hits[k];
      const dx = x[j] - x[i];
      const dy = y[j] - y[i];
      const along = Math.abs(c * dx + n * dy);
      if (along > 0.6 * SAMPLE_M) continue;
      if (!(Math.abs(s.t_s[i] - s.t_s[j]) > AGO_S)) continue;
      if (!(Math.abs(n * cos[j] - c * sin[j]) < PARALLEL)) continue;
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

/** Number rows that follow each other along the same two stretches on the same side. */
function chains({ stretch }: Samples, pairs: readonly Pair[]): Ints {
  const n = pairs.length;
  const most = stretch.reduce((a, b) => Math.max(a, b), 0) + 1;
  const key = pairs.map(({ later, earlier, side }) => 2 * (stretch[later] * most + stretch[earlier]) + (side > 0 ? 1 : 0));
  // pairs stand in order of their later samples, and shall within a key
  const sorted = new Float64Array(n).map((_, i) => key[i] * n + i).sort();
  const out = new Int32Array(n);
  let chain = 1;
  for (let k = 0, before = sorted[0] % n; k < n; k++) {
    const i = sorted[k] % n;
    if (key[i] !== key[before] || pairs[i].later - pairs[before].later > 3) chain += 1;
    out[i] = chain;
    before = i;
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
