// The day's stretches as believed, and draws of how they may lie instead.
import { interpAt, median, taken } from "./columns";
import type { Samples } from "./samples";
import type { Poses } from "./sweep";
import type { Floats } from "./words";

/** One unbroken stretch of a run with its place among phones and its bar. */
export interface Stretch {
  readonly run: number;
  readonly leg: number;
  readonly front_m: number;
  readonly rear_m: number;
  readonly width_m: number;
  readonly poses: Poses;
}

/** A stop beside a known mark: when, which phone's leg, the logged mean place, the name. */
export interface PegVisit {
  readonly t_s: number;
  readonly leg: number;
  readonly x_m: number;
  readonly y_m: number;
  readonly name: string;
}

/**
 * The picture. `east_m` and `north_m` (samples) are by how much it was moved; `east_draws` and
 * `north_draws`, one column a draw, are displacements from the picture at `samples`. `info` is what
 * is told of it; null where nothing was settled.
 */
export interface Picture {
  readonly stretches: readonly Stretch[];
  readonly samples: Samples;
  readonly east_draws: readonly Floats[];
  readonly north_draws: readonly Floats[];
  readonly info: Readonly<Record<string, number>> | null;
  readonly sigma_m: number;
  readonly east_m: Floats;
  readonly north_m: Floats;
}

/**
 * The constant gap, one sigma, that drift leaves between two runs over a length, m, by the length; 0 where
 * nothing was settled.
 *
 * The difference of two independent Gauss-Markov drifts averaged over the time T it takes to drive the
 * length: σ²·2·(2τ/T)(1 − (1 − exp(−T/τ))τ/T).
 */
export function gapOf(picture: Picture): (length_m: number) => number {
  const { info } = picture;
  if (info === null) return () => 0;
  const s = picture.samples;
  const speeds: number[] = [];
  for (let i = 0; i + 1 < s.t_s.length; i++) {
    const time = s.t_s[i + 1] - s.t_s[i];
    if (s.stretch[i + 1] !== s.stretch[i] || !(time > 0)) continue;
    speeds.push(Math.hypot(s.x_m[i + 1] - s.x_m[i], s.y_m[i + 1] - s.y_m[i]) / time);
  }
  if (speeds.length === 0) return () => Math.SQRT2 * picture.sigma_m;
  const along_m = median(speeds) * info["tau_s"];
  return (length_m) => {
    const x = Math.max(length_m / along_m, 1e-3);
    const kept = (2 / x) * (1 - (1 - Math.exp(-x)) / x);
    return picture.sigma_m * Math.sqrt(2 * kept);
  };
}

/** By how much the picture was moved near a time, metres east and north. */
export function movedAt(picture: Picture, t_s: number, leg: number): [number, number] {
  const s = picture.samples;
  const mine: number[] = [];
  for (let i = 0; i < s.leg.length; i++) if (s.leg[i] === leg) mine.push(i);
  if (mine.length === 0) return [0, 0];
  const t = taken(s.t_s, mine);
  return [interpAt(t_s, t, taken(picture.east_m, mine)), interpAt(t_s, t, taken(picture.north_m, mine))];
}
