// What other passes did to the ground under and beside the bar.
//
// Every second lays down a strip of the bar's width on a grid of metre cells, weighted by the chance that
// the tool was down. At a later look each cell knows which passes crossed it and when, so a pass can ask
// for the ground sown before it and after it without seeing its own strip. The places to look at do not
// change when the chances do: they are found once.
import { noughts } from "./columns";
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

/** A chance that moved by less since its strip was laid leaves it as it is: running sums of a day are no better. */
const STILL = 1e-8;

/**
 * Strips on cells, and the looks that see what other passes laid. The pieces on cell k, in order of way, stand
 * from `begin[k]` to `begin[k + 1]`: `tick` is which second each is from. A second's own cells stand together in
 * `cells`, `each` of them, and `share` is what one of its pieces covers of a cell. The looks of a second are those
 * from its `first` to that of the next; `look` is 2 · look + side of each, and `ends` holds its cell and where the
 * pass's own strip begins and ends there, three numbers a look. `weight` is what was laid last with each second.
 */
export interface Laid {
  readonly begin: Ints;
  readonly tick: Ints;
  readonly cells: Ints;
  readonly each: number;
  readonly share: Floats;
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
  // places are never below nought here: cutting is rounding down
  const cellAt = (x: number, y: number): number => (((y - y0) / CELL_M) | 0) * columns + (((x - x0) / CELL_M) | 0);
  const across = Math.ceil(width_m / CELL_M);
  const share = new Float64Array(n);
  const each = 2 * across;
  const cells = new Int32Array(each * n);
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
        const cell = cellAt(mx - aside * s, my + aside * c);
        if (numbers[cell] === 0) numbers[cell] = ++count;
        cells[at++] = numbers[cell];
      }
    }
  }
  const begin = new Int32Array(count + 3);
  for (let p = 0; p < cells.length; p++) begin[cells[p] + 2] += 1;
  for (let k = 1; k < begin.length; k++) begin[k] += begin[k - 1];
  // pieces come in order of way, so within a cell they stay so
  const tick = new Int32Array(cells.length);
  for (let i = 0, at = 0; i < n; i++) {
    // where a cell's next piece comes is in the end where the next cell begins
    for (let k = 0; k < each; k++) tick[begin[cells[at++] + 1]++] = i;
  }
  return { begin, tick, cells, each, share, ...looksOf(ticks, width_m, begin, tick, (x, y) => numbers[cellAt(x, y)]) };
}

/** The looks to whose cells another pass came; most see none. */
function looksOf(
  { x_m, y_m, heading_rad, way_m }: Ticks,
  width_m: number,
  begin: Ints,
  tick: Ints,
  cellAt: (x: number, y: number) => number,
): Pick<Laid, "first" | "look" | "ends"> {
  const n = x_m.length;
  const own = Math.max(OWN_M, OWN_WIDTHS * width_m);
  const first = new Int32Array(n + 1);
  const look = new Uint8Array(2 * LOOKS * n);
  const ends = new Int32Array(3 * look.length);
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
      let from = begin[cell];
      const stop = begin[cell + 1];
      if (from === stop || (tick[from] >= low && tick[stop - 1] < high)) continue;
      while (from < stop && tick[from] < low) from += 1;
      ends[3 * at] = cell;
      ends[3 * at + 1] = from;
      while (from < stop && tick[from] < high) from += 1;
      ends[3 * at + 2] = from;
      look[at++] = k;
    }
    first[i + 1] = at;
  }
  return { first, look, ends };
}

/**
 * Ground others sowed, at each tick. `under_before`, `under_after`, `under`: share of the bar over it.
 * `edge_before`, `edge`: which look first finds sown ground outward from the middle, LOOKS for none, at
 * 2 · tick + side. `flank`: the share sown beside the bar, on the side with more. `chance` is what it was made of,
 * `weight` what that laid.
 */
export interface Beside {
  readonly chance: Floats;
  readonly weight: Floats;
  readonly under_before: Floats;
  readonly under_after: Floats;
  readonly under: Floats;
  readonly edge_before: Flags;
  readonly edge: Flags;
  readonly flank: Floats;
}

/** Before anything is laid. */
export function nothing(n: number): Beside {
  const [weight, under_before, under_after, under, flank] = noughts(5, n);
  const [edge_before, edge] = [LOOKS, LOOKS].map((none) => new Uint8Array(2 * n).fill(none));
  return { chance: new Float64Array(n), weight, under_before, under_after, under, edge_before, edge, flank };
}

/**
 * Brings up to date what lies under and beside the bar, given the chance of down at each tick: seconds are looked
 * at again where a strip changed on a cell that they see.
 */
export function relay({ begin, tick, cells, each, share, first, look, ends }: Laid, chance: Floats, near: Beside): void {
  const { chance: known, weight, under_before, under_after, under, edge_before, edge, flank } = near;
  const fresh = new Uint8Array(begin.length);
  for (let i = 0; i < chance.length; i++) {
    if (Math.abs(chance[i] - known[i]) < STILL) continue;
    known[i] = chance[i];
    weight[i] = -Math.log1p(-0.98 * Math.min(Math.max(chance[i], 0), 1)) * share[i];
    for (let p = each * i; p < each * (i + 1); p++) fresh[cells[p]] = 1;
  }
  const flanks = new Float64Array(2);
  for (let i = 0; i < chance.length; i++) {
    let at = first[i];
    while (at < first[i + 1] && fresh[ends[3 * at]] === 0) at += 1;
    if (at === first[i + 1]) continue;
    under_before[i] = under_after[i] = under[i] = 0;
    for (const found of [edge, edge_before]) found.fill(LOOKS, 2 * i, 2 * i + 2);
    flanks.fill(0);
    // inwards: the last edge to be found is the first from the middle
    for (at = first[i + 1] - 1; at >= first[i]; at--) {
      const cell = ends[3 * at];
      let before = 0;
      let after = 0;
      for (let p = begin[cell]; p < begin[cell + 1]; p++) {
        if (p < ends[3 * at + 1]) before += weight[tick[p]];
        else if (p >= ends[3 * at + 2]) after += weight[tick[p]];
      }
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
}
