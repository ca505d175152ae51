// The loop that was driven round a thing last: its inside is not to be sown. Worked out from the log, with
// the tool's own way where the tool was down, else with the phone's.
import { Clip } from "./clip";
import { hypot } from "./columns";
import { legsOf } from "./legs";
import { Plane } from "./plane";
import { reversed, signedArea, thinnedRing } from "./rings";
import { earlier } from "./told";
import type { Log, Rig, Ring } from "./words";

/** A loop comes so near to where it began, after at least so much way; it is looked for this far back, m. */
const CLOSES_M = 8;
const LEAST_M = 25;
const MOST_M = 3000;
/** It was closed no longer ago than this much way, m. */
const SINCE_M = 150;
/** It turns about at least this much: a turn at a run's end does not. */
const TURNS_RAD = (270 * Math.PI) / 180;
const LEAST_M2 = 15;
/** Places nearer together than this are one. */
const STEP_M = 1;
/** Where seed was placed beside the line, this much of the strip stays for it, m. */
const OVER_M = 0.5;
/** A ring in an entry has no more detail than this, m. */
const FINE_M = 0.3;
/** More corners than these are no loop round a thing. */
const CORNERS = 120;

export interface Loop {
  /** Degrees, without the last corner again. */
  readonly ring: readonly (readonly [number, number])[];
  readonly lat_deg: number;
  readonly lon_deg: number;
  readonly area_m2: number;
  /** The tool was down all the way round. */
  readonly sown: boolean;
  /** When it closed, UTC ms. */
  readonly t_ms: number;
}

/** First and last place of the newest loop of a way; null: there is none. */
export function closed(x: ArrayLike<number>, y: ArrayLike<number>): readonly [number, number] | null {
  const way = [0];
  const turned = [0];
  let [heading, before] = [0, Number.NaN];
  for (let k = 1; k < x.length; k++) {
    const [dx, dy] = [x[k] - x[k - 1], y[k] - y[k - 1]];
    const now = Math.atan2(dy, dx);
    if (!Number.isNaN(before)) heading += Math.atan2(Math.sin(now - before), Math.cos(now - before));
    before = now;
    way.push(way[k - 1] + hypot(dx, dy));
    turned.push(heading);
  }
  const end = way[way.length - 1];
  for (let j = x.length - 1; j > 0 && end - way[j] <= SINCE_M; j--) {
    for (let i = j - 1; i >= 0 && way[j] - way[i] <= MOST_M; i--) {
      const gone = way[j] - way[i];
      const near = hypot(x[j] - x[i], y[j] - y[i]) <= CLOSES_M;
      if (gone >= LEAST_M && near && Math.abs(turned[j] - turned[i]) >= TURNS_RAD) return [i, j];
    }
  }
  return null;
}

/** The newest loop of a log; `away_m`: from the phone's way in to the thing, where the tool was up. */
export function loopOf(log: Log, rigs: readonly Rig[], away_m: number): Loop | null {
  const { fixes } = log;
  const rows: number[] = [];
  const plane = new Plane(fixes.lat_deg[0], fixes.lon_deg[0]);
  const [xs, ys] = plane.toXy(fixes.lon_deg, fixes.lat_deg);
  xs.forEach((x, i) => {
    const last = rows[rows.length - 1];
    if (Number.isFinite(x) && (last === undefined || hypot(x - xs[last], ys[i] - ys[last]) >= STEP_M)) rows.push(i);
  });
  const found = closed(rows.map((i) => xs[i]), rows.map((i) => ys[i]));
  if (found === null) return null;
  const [from, to] = found.map((k) => fixes.t_ms[rows[k]]);
  const sown = rigs.length > 0 && down(log, from, to);
  const ring = sown ? toolsWay(log, rigs, plane, from, to) : rows.slice(found[0], found[1] + 1).map((i): [number, number] => [xs[i], ys[i]]);
  const width_m = rigs[rigs.length - 1]?.tool.width_m ?? 0;
  const inner = inside(ring, sown ? width_m / 2 - OVER_M : away_m);
  if (inner === null) return null;
  const corners = Array.from({ length: inner.length / 2 }, (_, k): [number, number] => [inner[2 * k], inner[2 * k + 1]]);
  const mean = (of: 0 | 1): number => corners.reduce((sum, corner) => sum + corner[of], 0) / corners.length;
  const [lon_deg, lat_deg] = plane.degrees(mean(0), mean(1));
  return { ring: corners.map(([x, y]) => plane.degrees(x, y)), lat_deg, lon_deg, area_m2: Math.abs(signedArea(inner)), sown, t_ms: to };
}

/** Whether the tool was down from one moment to another. */
function down({ marks }: Log, from_ms: number, to_ms: number): boolean {
  const levers = marks.filter(({ kind, t_ms }) => kind === "lever" && t_ms <= to_ms).sort(earlier);
  const before = levers.filter(({ t_ms }) => t_ms <= from_ms);
  return before[before.length - 1]?.says["lever"] === "down" && levers.length === before.length;
}

/** Where the middle of the ranks went; nothing where the track cannot be cleaned. */
function toolsWay({ fixes }: Log, rigs: readonly Rig[], plane: Plane, from_ms: number, to_ms: number): [number, number][] {
  const t0_ms = fixes.t_ms[0];
  const trail = legsOf(fixes, plane, rigs, t0_ms).legs[0]?.trails[rigs.length - 1];
  const tool = rigs[rigs.length - 1]?.tool;
  if (trail === undefined || tool === undefined) return [];
  const ahead = (tool.front_rank_m + tool.rear_rank_m) / 2;
  const out: [number, number][] = [];
  trail.t_s.forEach((t_s, k) => {
    const t_ms = t0_ms + 1000 * t_s;
    if (t_ms < from_ms || t_ms > to_ms) return;
    const heading = trail.heading_rad[k];
    out.push([trail.x_m[k] + ahead * Math.cos(heading), trail.y_m[k] + ahead * Math.sin(heading)]);
  });
  return out;
}

/** The largest ring that lies so far inside of a way; null where nothing worth a keep-out is left. */
function inside(way: readonly (readonly [number, number])[], by_m: number): Ring | null {
  if (way.length < 3) return null;
  const ring = Float64Array.from(way.reduce<number[]>((all, [x, y]) => all.concat(x, y), []));
  const turned = signedArea(ring) < 0 ? reversed(ring) : ring;
  const left = new Clip().grown([turned], -by_m).sort((a, b) => Math.abs(signedArea(b)) - Math.abs(signedArea(a)));
  const [largest] = left;
  if (largest === undefined || Math.abs(signedArea(largest)) < LEAST_M2) return null;
  const thin = thinnedRing(largest, FINE_M);
  return thin.length / 2 <= CORNERS ? thin : thinnedRing(largest, 4 * FINE_M);
}
