// Straight runs up and down a paddock, logged by a phone whose position drifts; the truth beside it.
import { Chance } from "../../../web/src/core/chance";
import type { Stretch } from "../../../web/src/core/picture";

export interface Furrows {
  readonly runs: number;
  readonly length_m: number;
  readonly width_m: number;
  readonly overlap_m: number;
  /** Spread of the drift, m, and its correlation time, s. */
  readonly sigma_m: number;
  readonly tau_s: number;
  /** How far each driver's line lies off the furrow, m, by run; 0 where not said. */
  readonly aside: Readonly<Record<number, number>>;
  readonly seed: number;
}

export const FURROWS: Furrows = {
  runs: 14,
  length_m: 420,
  width_m: 9,
  overlap_m: 0.3,
  sigma_m: 1.1,
  tau_s: 80,
  aside: {},
  seed: 1,
};

/** Metres driven between poses, and in a second; seconds spent turning. */
const [STEP_M, SPEED_M_S, TURN_S] = [4, 2, 30];

/** The runs as logged, and by how much each pose is off, east and north. */
export function furrows(say: Partial<Furrows> = {}): {
  stretches: Stretch[];
  off: { east: Float64Array; north: Float64Array }[];
} {
  const how = { ...FURROWS, ...say };
  const chance = new Chance(how.seed);
  const drift = [0, 0].map(() => how.sigma_m * chance.normal());
  const count = Math.floor(how.length_m / STEP_M) + 1;
  const keep = Math.exp(-STEP_M / SPEED_M_S / how.tau_s);
  const pause = Math.exp(-TURN_S / how.tau_s);
  const later = (by: number): number[] =>
    [0, 1].map((axis) => {
      const fresh = how.sigma_m * Math.sqrt(1 - by * by) * chance.normal();
      return (drift[axis] = by * (drift[axis] ?? 0) + fresh);
    });
  let [t, aside] = [0, 0];
  const off: { east: Float64Array; north: Float64Array }[] = [];
  const stretches: Stretch[] = [];
  for (let run = 0; run < how.runs; run++) {
    aside += how.aside[run] ?? 0;
    const back = run % 2 === 1;
    const column = (): Float64Array => new Float64Array(count);
    const [t_s, x_m, y_m, east, north] = [column(), column(), column(), column(), column()];
    let swerve = 0;
    for (let i = 0; i < count; i++) {
      [east[i], north[i]] = later(i === 0 ? pause : keep) as [number, number];
      swerve = 0.92 * swerve + 0.05 * chance.normal();
      t_s[i] = t + (i * STEP_M) / SPEED_M_S;
      x_m[i] = (back ? how.length_m - i * STEP_M : i * STEP_M) + (east[i] ?? 0);
      y_m[i] = run * (how.width_m - how.overlap_m) + aside + swerve + (north[i] ?? 0);
    }
    t += (count * STEP_M) / SPEED_M_S + TURN_S;
    off.push({ east, north });
    const heading_rad = column().fill(back ? Math.PI : 0);
    const path_m = Float64Array.from(t_s, (_, i) => i * STEP_M);
    const { width_m } = how;
    const poses = { t_s, x_m, y_m, heading_rad, path_m };
    stretches.push({ run, leg: 0, front_m: 0.5, rear_m: -0.5, width_m, poses });
  }
  return { stretches, off };
}

/** Every pose put elsewhere: its place by `place`, its heading by `heading`. */
export function elsewhere(
  stretches: readonly Stretch[],
  place: (x: number, y: number) => readonly [number, number],
  heading: (h: number) => number,
): Stretch[] {
  return stretches.map((one) => {
    const { x_m, y_m, heading_rad } = one.poses;
    const put = Array.from(x_m, (x, i) => place(x, y_m[i] ?? Number.NaN));
    const poses = {
      ...one.poses,
      x_m: Float64Array.from(put, (p) => p[0]),
      y_m: Float64Array.from(put, (p) => p[1]),
      heading_rad: heading_rad.map(heading),
    };
    return { ...one, poses };
  });
}
