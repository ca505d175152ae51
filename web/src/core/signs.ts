// Signs of work: what a second of driving shows, sorted into the bins the scores are kept by.
//
// Each sign is a whole number a tick. Movement and the fence give the first set, the ground that other
// passes sowed gives the second. The bins' edges are here, their scores in `scores`.
import { type Beside, LOOKS } from "./beside";
import { firstAbove, turned } from "./columns";
import { holds, nearest } from "./rings";
import type { Table } from "./scores";
import { type Ticks, shifted, turnedWithin } from "./ticks";
import type { Flags, Floats, Ring } from "./words";

const RAD = Math.PI / 180;
/** Speed as a share of the day's working speed. */
const PACE = [0.3, 0.5, 0.65, 0.78, 0.86, 0.92, 0.97, 1.03, 1.08, 1.15, 1.3, 1.6];
/** Curvature of the tractor's path, 1/m. */
const BEND = [0.003, 0.006, 0.012, 0.02, 0.035, 0.05, 0.07, 0.09, 0.12];
/** Largest change of heading ahead and behind, rad, and over which way, m. */
const TURN = [2.5, 5, 10, 20, 45, 90].map((deg) => deg * RAD);
const NEAR_M = 12;
const FAR_M = 40;
/** Angle between tractor and tool, rad. */
const SWING = [1.5, 3, 6, 10, 16, 25].map((deg) => deg * RAD);
/** Distance inside the fence in widths (outside is negative), and sine of the angle to it. */
const FENCE = [-1, -0.3, 0.2, 0.4, 0.6, 0.85, 1.25, 1.75, 2.5, 3.5, 6];
const ALONG = [0.35, 0.8];
/** Share of the bar over ground that others sowed. */
const UNDER = [0.05, 0.2, 0.4, 0.65, 0.9];
/** First sown place outward, grouped: under the bar, at its end, just beyond, further, none. */
const EDGES = [2, 4, 5, 6, 8, LOOKS];
/** Ways ahead and behind at which ground, swing, ground again and flanks are looked at, m. */
const ON_M = 9;
const SWAY_M = 5;
const STEP_M = 4;
const FLANK_M = 8;
/** Way from a place on to where something changes (behind: negative), m. */
const WAY = [-15, -10, -7, -5, -3.5, -2, -0.7, 0.7, 2, 3.5, 5, 7, 10, 15];
/** Curvature from which the tractor turns, 1/m, over this way each side of a place, m. */
const TURNS_1_M = 0.03;
const CALM_M = 3;

/** Signs by name, a bin a tick. */
export type Signs = Readonly<Record<string, Flags>>;

/** The bin each value falls into, 0 to edges.length. */
function bins(values: Floats, edges: readonly number[]): Flags {
  const out = new Uint8Array(values.length);
  for (let i = 0, bin = 0; i < out.length; i++) {
    const value = values[i];
    // mostly that of the tick before
    while (bin > 0 && !(edges[bin - 1] <= value)) bin -= 1;
    while (bin < edges.length && edges[bin] <= value) bin += 1;
    out[i] = bin;
  }
  return out;
}

/** One number for two bins. */
function pair(first: Flags, second: Flags, edges: readonly number[]): Flags {
  const out = new Uint8Array(first.length);
  for (let i = 0; i < out.length; i++) out[i] = first[i] * (edges.length + 1) + second[i];
  return out;
}

/** Size of the angle between tractor and tool at each tick. */
function swingOf(ticks: Ticks): Floats {
  return ticks.nose_rad.map((nose, i) => turned(nose, ticks.heading_rad[i]));
}

/** Signs from the movement, and from the fence where one is known (else left out). */
export function movement(ticks: Ticks, width_m: number, fence: readonly Ring[] | null): Signs {
  const most = (reach_m: number): Flags =>
    bins(turnedWithin(ticks.rising_m, ticks.nose_rad, reach_m), TURN);
  const out: Record<string, Flags> = {
    pace: bins(
      ticks.speed_m_s.map((v) => v / ticks.usual_m_s),
      PACE,
    ),
    bend: bins(ticks.bend_1_m.map(Math.abs), BEND),
    swing: bins(swingOf(ticks), SWING),
    near: pair(most(-NEAR_M), most(NEAR_M), TURN),
    far: pair(most(-FAR_M), most(FAR_M), TURN),
  };
  if (fence !== null) {
    const { inside, sine } = toFence(ticks, fence);
    const widths = inside.map((d) => d / width_m);
    out["fence"] = pair(bins(widths, FENCE), bins(sine, ALONG), ALONG);
  }
  return out;
}

/** Distance inside the fence, m, and sine of the angle between the way and it. */
function toFence(ticks: Ticks, fence: readonly Ring[]): { inside: Floats; sine: Floats } {
  const n = ticks.t_s.length;
  const [inside, sine] = [new Float64Array(n).fill(-Infinity), new Float64Array(n)];
  if (fence.length === 0) return { inside, sine };
  for (let i = 0; i < n; i++) {
    const x = ticks.x_m[i];
    const y = ticks.y_m[i];
    const foot = nearest(fence, x, y);
    const c = Math.cos(ticks.heading_rad[i]);
    const s = Math.sin(ticks.heading_rad[i]);
    inside[i] = holds(fence, x, y) ? foot.distance : -foot.distance;
    sine[i] = Math.abs((foot.x - x) * c + (foot.y - y) * s) / Math.max(foot.distance, 1e-6);
  }
  return { inside, sine };
}

/** Signs from the ground that other passes sowed. */
export function ground(ticks: Ticks, near: Beside): Signs {
  return {
    under: pair(bins(near.under_before, UNDER), bins(near.under_after, UNDER), UNDER),
    seam: sides(near.edge_before),
    followed: sides(near.edge),
    on: around(ticks, near.under, ON_M, UNDER),
  };
}

/** The bins of both sides' edges, the nearer first, as one number. */
function sides(edge: Flags): Flags {
  const out = new Uint8Array(edge.length / 2);
  const group = Array.from({ length: LOOKS + 1 }, (_, look) => firstAbove(EDGES, look));
  for (let i = 0; i < out.length; i++) {
    const a = group[edge[2 * i]];
    const b = group[edge[2 * i + 1]];
    out[i] = Math.min(a, b) * (EDGES.length + 1) + Math.max(a, b);
  }
  return out;
}

/** The bins a little behind and a little ahead, as one number. */
function around(ticks: Ticks, values: Floats, reach_m: number, edges: readonly number[]): Flags {
  const behind = bins(shifted(ticks.rising_m, values, -reach_m), edges);
  const ahead = bins(shifted(ticks.rising_m, values, reach_m), edges);
  return pair(behind, ahead, edges);
}

/** Signs of the place at which the tool goes down or up, from the movement. */
export function place(ticks: Ticks, motion: Signs): Signs {
  const way = ticks.rising_m;
  const behind = shifted(way, ticks.nose_rad, -CALM_M);
  const bend = shifted(way, ticks.nose_rad, CALM_M).map(
    (nose, i) => Math.abs(nose - behind[i]) / (2 * CALM_M),
  );
  return {
    near: motion["near"],
    far: motion["far"],
    sway: around(ticks, swingOf(ticks), SWAY_M, SWING),
    pace: motion["pace"],
    bends: bins(crossing(way, bend, TURNS_1_M, true), WAY),
    straightens: bins(crossing(way, bend, TURNS_1_M, false), WAY),
  };
}

/** Signs of such a place from the ground that other passes sowed. */
export function placeBeside(ticks: Ticks, near: Beside, every: Signs): Signs {
  return {
    step: around(ticks, near.under, STEP_M, UNDER),
    on: every["on"],
    flanks: around(ticks, near.flank, FLANK_M, UNDER),
    enters: bins(crossing(ticks.rising_m, near.under, 0.5, true), WAY),
    leaves: bins(crossing(ticks.rising_m, near.under, 0.5, false), WAY),
  };
}

/** Way from each place to the nearest at which the values cross the level upward, or downward. */
function crossing(way: Floats, values: Floats, level: number, up: boolean): Floats {
  const there: number[] = [];
  for (let i = 1; i < values.length; i++) {
    const before = values[i - 1];
    const after = values[i];
    if (before >= level === after >= level || after >= level !== up) continue;
    const share = (level - before) / (after - before);
    there.push(way[i - 1] + share * (way[i] - way[i - 1]));
  }
  const out = new Float64Array(way.length).fill(Infinity);
  if (there.length === 0) return out;
  for (let i = 0, right = 0; i < out.length; i++) {
    while (right + 1 < there.length && there[right] < way[i]) right += 1;
    const back = there[Math.max(right - 1, 0)] - way[i];
    const on = there[right] - way[i];
    out[i] = Math.abs(back) < Math.abs(on) ? back : on;
  }
  return out;
}

/**
 * Sum of the tables' scores at every tick, signs without a table left out: log odds of down against up. It
 * is added to what others have `scored`.
 */
export function score(found: Signs, tables: Readonly<Record<string, Table>>, scored?: Floats): Floats {
  const out = scored?.slice() ?? new Float64Array(Object.values(found)[0].length);
  for (const [name, which] of Object.entries(found)) {
    const table = tables[name];
    if (table === undefined) continue;
    for (let i = 0; i < out.length; i++) out[i] += table[which[i]];
  }
  return out;
}
