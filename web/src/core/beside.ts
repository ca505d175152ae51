// What other passes did to the ground under and beside the bar.
//
// Every second lays down a strip of the bar's width on a grid of metre cells, weighted by the chance that
// the tool was down. At a later look each cell knows which passes crossed it and when, so a pass can ask
// for the ground sown before it and after it without seeing its own strip. The places to look at do not
// change when the chances do: they are found once.
import type { Ticks } from "./ticks";
import type { Flags, Floats, Ints } from "./words";

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
 * Strips on cells, and the looks that see what other passes laid. Pieces lie in order of cell and way: `tick`
 * is which second each is from, `share` that second's part of a cell. The looks of a second are those from
 * its `first` to that of the next; `look` is 2 · look + side of each, and `ends` holds four pieces of it, four
 * numbers a look: where its cell begins, where the pass's own strip begins and ends there, where the cell ends.
 * `total` is room for the running sum of all pieces' weights, the same for every round.
 */
export interface Laid {
  readonly tick: Ints;
  readonly share: Floats;
  readonly total: Floats;
  readonly first: Ints;
  readonly look: Flags;
  readonly ends: Ints;
}

/** Lays the day's strips and finds every look's place among them. */
export function laid(ticks: Ticks, width_m: number): Laid {
  const n = ticks.t_s.length;
  const { x_m, y_m, heading_rad, way_m } = ticks;
  const least = (a: Floats): number => a.reduce((m, v) => Math.min(m, v), Infinity) - 2 * width_m;
  const most = (a: Floats): number => a.reduce((m, v) => Math.max(m, v), -Infinity) + 2 * width_m;
  const [x0, y0] = [least(x_m), least(y_m)];
  const columns = Math.floor((most(x_m) - x0) / CELL_M) + 2;
  const numbers = new Int32Array(columns * (Math.floor((most(y_m) - y0) / CELL_M) + 2));
  const place = (x: number, y: number): number =>
    Math.floor((y - y0) / CELL_M) * columns + Math.floor((x - x0) / CELL_M);
  const across = Math.ceil(width_m / CELL_M);
  const share = new Float64Array(n);
  const where = new Int32Array(2 * across * n);
  // cells by number in the order in which pieces come to lie on them: what is driven one after the other lies
  // together then, whichever way it goes
  let count = 0;
  for (let i = 0, at = 0; i < n; i++) {
    const c = Math.cos(heading_rad[i]);
    const s = Math.sin(heading_rad[i]);
    const gone = i + 1 < n ? way_m[i + 1] - way_m[i] : 0;
    const advance = Math.min(Math.max(gone, 0), FASTEST_M);
    share[i] = ((advance / 2) * width_m) / across / CELL_M ** 2;
    for (let half = -1; half < 2; half += 2) {
      const mx = x_m[i] + (half / 4) * advance * c;
      const my = y_m[i] + (half / 4) * advance * s;
      for (let k = 0; k < across; k++) {
        const aside = ((k + 0.5) / across) * width_m - width_m / 2;
        const cell = place(mx - aside * s, my + aside * c);
        if (numbers[cell] === 0) numbers[cell] = ++count;
        where[at++] = numbers[cell];
      }
    }
  }
  const begin = new Int32Array(count + 3);
  for (let p = 0; p < where.length; p++) begin[where[p] + 2] += 1;
  for (let k = 1; k < begin.length; k++) begin[k] += begin[k - 1];
  // pieces come in order of way, so within a cell they stay so
  const tick = new Int32Array(where.length);
  for (let i = 0, at = 0; i < n; i++) {
    // where a cell's next piece comes is in the end where the next cell begins
    for (let k = 0; k < 2 * across; k++) tick[begin[where[at++] + 1]++] = i;
  }
  return { tick, share, total: new Float64Array(tick.length + 1), ...looksOf(ticks, width_m, begin, tick, (x, y) => numbers[place(x, y)]) };
}

/** The looks to whose cells another pass came; most see none. */
function looksOf(
  ticks: Ticks,
  width_m: number,
  begin: Ints,
  tick: Ints,
  cellAt: (x: number, y: number) => number,
): Pick<Laid, "first" | "look" | "ends"> {
  const n = ticks.t_s.length;
  const { x_m, y_m, heading_rad, way_m } = ticks;
  const own = Math.max(OWN_M, OWN_WIDTHS * width_m);
  const first = new Int32Array(n + 1);
  const look = new Uint8Array(2 * LOOKS * n);
  const ends = new Int32Array(4 * look.length);
  let at = 0;
  for (let i = 0, low = 0, high = 0; i < n; i++) {
    // seconds whose way is the pass's own
    while (way_m[low] < way_m[i] - own) low += 1;
    while (high < n && way_m[high] < way_m[i] + own) high += 1;
    const c = Math.cos(heading_rad[i]);
    const s = Math.sin(heading_rad[i]);
    for (let k = 0; k < 2 * LOOKS; k++) {
      const out = (0.05 + 0.1 * (k >> 1)) * width_m * (k & 1 ? -1 : 1);
      const cell = cellAt(x_m[i] - out * s, y_m[i] + out * c);
      const stop = begin[cell + 1];
      let from = begin[cell];
      if (from === stop) continue;
      ends[4 * at] = from;
      while (from < stop && tick[from] < low) from += 1;
      let to = from;
      while (to < stop && tick[to] < high) to += 1;
      if (from === ends[4 * at] && to === stop) continue;
      ends[4 * at + 1] = from;
      ends[4 * at + 2] = to;
      ends[4 * at + 3] = stop;
      look[at++] = k;
    }
    first[i + 1] = at;
  }
  return { first, look, ends };
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
export function beside({ tick, share, total, first, look, ends }: Laid, chance: Floats): Beside {
  const n = chance.length;
  const weight = chance.map((c, i) => -Math.log1p(-0.98 * Math.min(Math.max(c, 0), 1)) * share[i]);
  let sum = 0;
  for (let p = 0; p < tick.length; p++) {
    sum += weight[tick[p]];
    total[p + 1] = sum;
  }
  const under_before = new Float64Array(n);
  const under_after = new Float64Array(n);
  const under = new Float64Array(n);
  const edge_before = new Int32Array(2 * n).fill(LOOKS);
  const edge = new Int32Array(2 * n).fill(LOOKS);
  const flank = new Float64Array(n);
  const flanks = new Float64Array(2);
  for (let i = 0; i < n; i++) {
    flanks.fill(0);
    // inwards: the last edge to be found is the first from the middle
    for (let at = first[i + 1] - 1; at >= first[i]; at--) {
      const before = total[ends[4 * at + 1]] - total[ends[4 * at]];
      const after = total[ends[4 * at + 3]] - total[ends[4 * at + 2]];
      const out = look[at] >> 1;
      const side = look[at] & 1;
      if (out < UNDER) {
        const early = before > 0 ? Math.exp(-before) : 1;
        const late = after > 0 ? Math.exp(-after) : 1;
        under_before[i] += (1 - early) / (2 * UNDER);
        under_after[i] += (1 - late) / (2 * UNDER);
        under[i] += (1 - early * late) / (2 * UNDER);
      } else if (out >= BESIDE && out < BEYOND) {
        flanks[side] += (1 - Math.exp(-before - after)) / (BEYOND - BESIDE);
      }
      if (before > EDGE) edge_before[2 * i + side] = out;
      if (before + after > EDGE) edge[2 * i + side] = out;
    }
    flank[i] = Math.max(flanks[0], flanks[1]);
  }
  return { under_before, under_after, under, edge_before, edge, flank };
}
