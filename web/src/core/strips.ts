// Stretches of runs along the trails, and from the settled stretches the strips of ground.
import { hypot, median } from "./columns";
import { type Strip, strip } from "./cover";
import type { Leg } from "./legs";
import { type Picture, type Stretch, movedAt } from "./picture";
import type { Span } from "./spans";
import { type Poses, blindBetween, blindSwath, pieceCuts, posesAt, posesBetween, swept, swung } from "./sweep";
import type { Trail } from "./trail";
import type { Ring, Rig, Run } from "./words";

/** A blind stretch that was answered to be driven, s, and the outfit that it is about. */
export type Bridged = readonly [from_s: number, to_s: number, outfit: number];

/** All unbroken stretches of all sure runs; blind steps that were answered count as driven. */
export function stretchesOf(
  legs: readonly Leg[],
  runs: readonly Run[],
  rigs: readonly Rig[],
  bridged: readonly Bridged[],
): Stretch[] {
  const out: Stretch[] = [];
  runs.forEach((run, i) => {
    if (!run.sure) return;
    const { front_rank_m: front_m, rear_rank_m: rear_m, width_m } = rigs[run.rig].tool;
    legs.forEach((leg, j) => {
      const path = leg.trails[run.rig];
      for (const [lo, hi] of believedIn(leg, run)) {
        const parts = posesBetween(path, lo, hi);
        for (const [k, m] of blindBetween(path, lo, hi)) {
          if (answeredDown(leg, path, k, m, bridged)) parts.push(across(path, k, m));
        }
        for (const poses of parts) out.push({ run: i, leg: j, front_m, rear_m, width_m, poses });
      }
    });
  });
  return out;
}

/** One strip for each run: what it sowed, and what is doubt along it. */
export function stripsOf(
  picture: Picture,
  legs: readonly Leg[],
  runs: readonly Run[],
  rigs: readonly Rig[],
  bridged: readonly Bridged[],
): Strip[] {
  return runs.map((run, i) => {
    const { tool } = rigs[run.rig];
    const mine = picture.stretches
      .filter((x) => x.run === i)
      .map((x) => x.poses)
      .sort((a, b) => a.t_s[0] - b.t_s[0]);
    const doubt: Ring[] = [];
    legs.forEach((leg, j) => {
      const path = leg.trails[run.rig];
      for (const [lo, hi] of believedIn(leg, run)) {
        for (const [k, m] of blindBetween(path, lo, hi)) {
          if (answeredDown(leg, path, k, m, bridged)) continue;
          const by = movedAt(picture, (path.t_s[k] + path.t_s[m]) / 2, j);
          doubt.push(...moved(blindSwath(path, k, m, tool.width_m), by));
        }
        const reached = swung(path, rigs[run.rig], lo, hi);
        if (reached.length > 0) doubt.push(...moved(reached, movedAt(picture, lo, j)));
        if (run.sure) continue;
        for (const poses of posesBetween(path, lo, hi)) {
          const by = movedAt(picture, median(poses.t_s), j);
          const cuts = pieceCuts(poses);
          for (const ahead of new Set([tool.front_rank_m, tool.rear_rank_m])) {
            for (const rings of swept(poses, cuts, ahead, tool.width_m)) {
              doubt.push(...moved(rings, by));
            }
          }
        }
      }
    });
    return strip(run.number, mine, tool, doubt);
  });
}

/** The parts of a run for which this phone is believed, seconds. */
function believedIn(leg: Leg, run: Run): Span[] {
  if (leg.outfit !== run.outfit) return [];
  return leg.windows
    .map(([a, b]): Span => [Math.max(a, run.on_s), Math.min(b, run.off_s)])
    .filter(([lo, hi]) => hi > lo);
}

function answeredDown({ outfit }: Leg, path: Trail, k: number, m: number, bridged: readonly Bridged[]): boolean {
  const [a, b] = [path.t_s[k], path.t_s[m]];
  return bridged.some(([from, to, who]) => who === outfit && from <= a + 1e-6 && b <= to + 1e-6);
}

/** The straight stretch over a blind step. */
function across(path: Trail, k: number, m: number): Poses {
  const way = hypot(path.x_m[m] - path.x_m[k], path.y_m[m] - path.y_m[k]);
  return { ...posesAt(path, [k, m]), path_m: Float64Array.of(0, way) };
}

function moved(rings: readonly Ring[], [dx, dy]: readonly [number, number]): Ring[] {
  return rings.map((ring) => ring.map((v, i) => v + (i % 2 === 0 ? dx : dy)));
}
