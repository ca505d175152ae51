// What other passes did to the ground under and beside the bar.
//
// Every second lays down a strip of the bar's width on a grid of metre cells, weighted by the chance that
// the tool was down. At a later look each cell knows which passes crossed it and when, so a pass can ask
// for the ground sown before it and after it without seeing its own strip. The places to look at do not
// change when the chances do: they are found once.
import type { Ticks } from "./ticks";
import type { Floats, Ints } from "./words";

const CELL_M = 1;
/** Way within which ground counts as the pass's own, m, and in widths. */
const OWN_M = 25;
const OWN_WIDTHS = 2;
/** Sideways places looked at on each side, in widths: 0.05, 0.15, … 1.25. */
export const LOOKS = 13;
/** The first so many looks lie under the bar; these, without the last, lie beside it. */
const UNDER = 5;
const [BESIDE, BEYOND] = [6, 11];
/** Ground counts as sown for the edge from a chance of a half on: so much weight, -ln(1 - 0.5). */
const EDGE = Math.LN2;
/** Longest way of one second, m. */
const FASTEST_M = 8;

/**
 * Strips on cells, and for each look the first and last of them to count. Pieces lie in order of cell and
 * way: `tick` is which second each is from, `share` that second's part of a cell. For a look, at
 * (look · 2 + side) · n + tick, `ends` holds four places in that order: where the cell begins, where the
 * pass's own strip begins and ends there, and where the cell ends.
 */
export interface Laid {
  readonly tick: Ints;
  readonly share: Floats;
  readonly ends: readonly [Ints, Ints, Ints, Ints];
}

/** Lays the day's strips and finds every look's place among them. */
export function laid(ticks: Ticks, width_m: number): Laid {
  const n = ticks.t_s.length;
  const { x_m, y_m, heading_rad, way_m } = ticks;
  const least = (a: Floats): number => a.reduce((m, v) => Math.min(m, v), Infinity);
  const most = (a: Floats): number => a.reduce((m, v) => Math.max(m, v), -Infinity);
  const [x0, y0] = [least(x_m) - 2 * width_m, least(y_m) - 2 * width_m];
  const columns = Math.floor((most(x_m) - x0 + 2 * width_m) / CELL_M) + 2;
  const rows = Math.floor((most(y_m) - y0 + 2 * width_m) / CELL_M) + 2;
  const cell = (x: number, y: number): number =>
    Math.floor((y - y0) / CELL_M) * columns + Math.floor((x - x0) / CELL_M);
  const across = Math.ceil(width_m / CELL_M);
  const share = new Float64Array(n);
  const where = new Int32Array(2 * across * n);
  let at = 0;
  for (let i = 0; i < n; i++) {
    const [c, s] = [Math.cos(heading_rad[i]), Math.sin(heading_rad[i])];
    const gone = i + 1 < n ? way_m[i + 1] - way_m[i] : 0;
    const advance = Math.min(Math.max(gone, 0), FASTEST_M);
    share[i] = ((advance / 2) * width_m) / across / CELL_M ** 2;
    for (let half = -1; half < 2; half += 2) {
      const mx = x_m[i] + (half / 4) * advance * c;
      const my = y_m[i] + (half / 4) * advance * s;
      for (let k = 0; k < across; k++) {
        const aside = ((k + 0.5) / across) * width_m - width_m / 2;
        where[at++] = cell(mx - aside * s, my + aside * c);
      }
    }
  }
  const first = new Int32Array(columns * rows + 1);
  for (let p = 0; p < where.length; p++) first[where[p] + 1] += 1;
  for (let k = 0; k + 1 < first.length; k++) first[k + 1] += first[k];
  // pieces come in order of way, so within a cell they stay so
  const next = first.slice();
  const tick = new Int32Array(where.length);
  for (let p = 0; p < where.length; p++) tick[next[where[p]]++] = Math.floor(p / (2 * across));
  return { tick, share, ends: looksOf(ticks, width_m, first, tick, cell) };
}

function looksOf(
  ticks: Ticks,
  width_m: number,
  first: Ints,
  tick: Ints,
  cell: (x: number, y: number) => number,
): [Ints, Ints, Ints, Ints] {
  const n = ticks.t_s.length;
  const size = 2 * LOOKS * n;
  const way = ticks.way_m;
  const own = Math.max(OWN_M, OWN_WIDTHS * width_m);
  const [begin, from, to, end] = [0, 1, 2, 3].map(() => new Int32Array(size)) as [
    Ints,
    Ints,
    Ints,
    Ints,
  ];
  for (let i = 0; i < n; i++) {
    const c = Math.cos(ticks.heading_rad[i]);
    const s = Math.sin(ticks.heading_rad[i]);
    for (let look = 0; look < LOOKS; look++) {
      for (let side = 0; side < 2; side++) {
        const out = (0.05 + 0.1 * look) * width_m * (side === 0 ? 1 : -1);
        const here = cell(ticks.x_m[i] - out * s, ticks.y_m[i] + out * c);
        const at = (2 * look + side) * n + i;
        let place = first[here];
        const stop = first[here + 1];
        begin[at] = place;
        end[at] = stop;
        while (place < stop && way[tick[place]] < way[i] - own) place += 1;
        from[at] = place;
        while (place < stop && way[tick[place]] < way[i] + own) place += 1;
        to[at] = place;
      }
    }
  }
  return [begin, from, to, end];
}

/**
 * Ground others sowed, at each tick. `under_before`, `under_after`, `under`: share of the bar over it.
 * `edge_before`, `edge`: which look first finds sown ground outward from the middle, LOOKS for none, at
 * 2 · tick + side. `flank`: the share sown beside the bar, on the side with more.
 */
export interface Beside {
  readonly under_before: Floats;
  readonly under_after: Floats;
  readonly under: Floats;
  readonly edge_before: Ints;
  readonly edge: Ints;
  readonly flank: Floats;
}

/** What lies under and beside the bar, given the chance of down at each tick. */
export function beside({ tick, share, ends }: Laid, chance: Floats): Beside {
  const n = chance.length;
  const weight = chance.map(
    (c, i) => -Math.log1p(-0.98 * Math.min(Math.max(c, 0), 1)) * share[i],
  );
  const total = new Float64Array(tick.length + 1);
  for (let p = 0; p < tick.length; p++) total[p + 1] = total[p] + weight[tick[p]];
  const out: Beside = {
    under_before: new Float64Array(n),
    under_after: new Float64Array(n),
    under: new Float64Array(n),
    edge_before: new Int32Array(2 * n).fill(LOOKS),
    edge: new Int32Array(2 * n).fill(LOOKS),
    flank: new Float64Array(n),
  };
  const flanks = [new Float64Array(n), new Float64Array(n)];
  for (let look = LOOKS - 1; look >= 0; look--) {
    for (let side = 0; side < 2; side++) {
      const from = (2 * look + side) * n;
      for (let i = 0; i < n; i++) {
        const at = from + i;
        // most places no other pass ever crossed
        if (ends[1][at] === ends[0][at] && ends[3][at] === ends[2][at]) continue;
        const before = total[ends[1][at]] - total[ends[0][at]];
        const after = total[ends[3][at]] - total[ends[2][at]];
        if (look < UNDER) {
          const early = before > 0 ? Math.exp(-before) : 1;
          const late = after > 0 ? Math.exp(-after) : 1;
          out.under_before[i] += (1 - early) / (2 * UNDER);
          out.under_after[i] += (1 - late) / (2 * UNDER);
          out.under[i] += (1 - early * late) / (2 * UNDER);
        }
        if (look >= BESIDE && look < BEYOND) {
          flanks[side][i] += (1 - Math.exp(-before - after)) / (BEYOND - BESIDE);
        }
        if (before > EDGE) out.edge_before[2 * i + side] = look;
        if (before + after > EDGE) out.edge[2 * i + side] = look;
      }
    }
  }
  for (let i = 0; i < n; i++) out.flank[i] = Math.max(flanks[0][i], flanks[1][i]);
  return out;
}
