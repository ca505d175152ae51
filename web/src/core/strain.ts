// How far sideways a turning tool drags its tines: the job paper's 3.21.
//
// The tool turns at w rad/s (left is positive) while its axle rolls at v m/s. A tine x m ahead of the axle
// and y m to the left then moves at (v - w y) along the tool and w x across it, so its angle is
//
//     beta = atan2(|w x|, v - w y)
//
// (velocity of a point of a rigid body). Where v - w y is not above zero the tine is pushed backwards.
import type { Tool } from "./words";

/** A tine pushed backwards has at least this angle, degrees. */
export const BACKWARDS_DEG = 90;
/** An angle over the limit for longer than this is an event, s. */
export const EVENT_S = 1;

/**
 * Sideways angle of one tine, degrees from 0 to 180; 90 and more: pushed backwards. The tool turns left
 * at `turn_rad_s`, its axle rolls at `speed_m_s`; the tine is `ahead_m` of the axle, `left_m` of the middle.
 */
export function tineDeg(turn_rad_s: number, speed_m_s: number, ahead_m: number, left_m: number): number {
  const across = Math.abs(turn_rad_s * ahead_m);
  return (Math.atan2(across, speed_m_s - turn_rad_s * left_m) * 180) / Math.PI;
}

/**
 * The largest sideways angle of all tines of a tool, degrees: at the bar's end inside the turn. A tool
 * that does not turn strains nothing.
 */
export function worstDeg(tool: Tool, turn_rad_s: number, speed_m_s: number): number {
  if (turn_rad_s === 0) return 0;
  const inner = tool.offset_left_m + (turn_rad_s > 0 ? tool.width_m : -tool.width_m) / 2;
  return Math.max(
    tineDeg(turn_rad_s, speed_m_s, tool.front_rank_m, inner),
    tineDeg(turn_rad_s, speed_m_s, tool.rear_rank_m, inner),
  );
}

/** A stretch with tines dragged sideways: how far at most, for how long, on which side. */
export interface Strained {
  readonly peak_deg: number;
  readonly seconds: number;
  readonly side: "left" | "right";
}

/** What a step tells. */
export interface Straining {
  readonly begun: boolean;
  readonly severe: boolean;
  readonly over: Strained | null;
}

export const CALM: Straining = { begun: false, severe: false, over: null };

/** Follows the angle step by step and tells of events. */
export class Strain {
  private since_s = Number.NaN;
  private last_s = Number.NaN;
  private peak_deg = 0;
  private side: "left" | "right" = "left";

  constructor(private readonly tool: Tool) {}

  /**
   * One step: `begun` once when an angle over the caution limit has lasted long enough, `severe` once
   * when it passes the severe limit, `over` when such a stretch ends. `in_ground`: the points are.
   */
  step(t_s: number, turn_rad_s: number, speed_m_s: number, in_ground: boolean): Straining {
    if (!in_ground && Number.isNaN(this.since_s)) return CALM;
    const angle = in_ground ? worstDeg(this.tool, turn_rad_s, speed_m_s) : 0;
    if (!(angle > this.tool.tine_caution_deg)) return Number.isNaN(this.since_s) ? CALM : { begun: false, severe: false, over: this.end(t_s) };
    if (Number.isNaN(this.since_s)) {
      this.since_s = t_s;
      this.last_s = t_s;
      this.peak_deg = 0;
    }
    const [was, peak] = [this.last_s - this.since_s > EVENT_S, this.peak_deg];
    this.side = turn_rad_s > 0 ? "left" : "right";
    this.peak_deg = Math.max(peak, angle);
    this.last_s = t_s;
    const severe = this.tool.tine_severe_deg;
    return { begun: !was && t_s - this.since_s > EVENT_S, severe: peak <= severe && angle > severe, over: null };
  }

  private end(t_s: number): Strained | null {
    const seconds = this.last_s - this.since_s;
    const event = seconds > EVENT_S ? { peak_deg: this.peak_deg, seconds: Math.min(seconds, t_s - this.since_s), side: this.side } : null;
    this.since_s = Number.NaN;
    this.last_s = Number.NaN;
    return event;
  }
}
