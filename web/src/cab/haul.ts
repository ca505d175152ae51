// The tool drawn behind the phone from one position to the next, in pieces, and what it sows on the way.
import { hypot } from "../core/columns";
import { Follow, type Stance } from "../core/follow";
import type { Onward } from "../core/onward";
import type { Rig } from "../core/words";
import { Sower } from "./sower";
import { turn, type Step } from "./swept";

/** A step along an arc is taken in pieces with at most this sagitta, m. */
const SAGITTA_M = 0.02;
const PIECES = 20;

/** The phone as it was where a step began. */
export interface From {
  x_m: number;
  y_m: number;
  speed_m_s: number;
  heading_rad: number;
  t_s: number;
}

export class Haul {
  readonly sower = new Sower();
  /** Whether the rig stands behind the phone: not before a heading is known, nor after a hole. */
  placed = false;
  /** How the tool moved with the last step: turned, rad/s, and rolled, m/s. */
  turn_rad_s = 0;
  speed_m_s = 0;
  private follow: Follow | null = null;
  private readonly step: Step = { ax_m: 0, ay_m: 0, a_rad: 0, bx_m: 0, by_m: 0, b_rad: 0 };
  /** The tool when it was last asked how it moves; NaN: it was not known. */
  private lastX = Number.NaN;
  private lastY = Number.NaN;
  private last_rad = Number.NaN;

  /** Another rig card holds from now on; how lever and seed were left. */
  card(rig: Rig, t_s: number, down: boolean, flowing: boolean): void {
    this.follow = new Follow(rig);
    this.placed = false;
    this.sower.card(rig, t_s, down, flowing);
  }

  /** Puts the rig straight behind the phone. */
  place({ x_m, y_m, heading_rad }: Onward): void {
    if (this.follow === null) return;
    this.follow.begin(x_m, y_m, heading_rad);
    this.placed = true;
  }

  /** The picture moved under a rig that stood. */
  shift(dx_m: number, dy_m: number): void {
    if (this.placed) this.follow?.shift(dx_m, dy_m);
  }

  stance(): Stance | null {
    return this.placed && this.follow !== null ? this.follow.stance() : null;
  }

  /** The middle of the bar; NaN where it is not known. */
  get x_m(): number {
    return this.placed && this.follow !== null ? this.follow.x_m : Number.NaN;
  }

  get y_m(): number {
    return this.placed && this.follow !== null ? this.follow.y_m : Number.NaN;
  }

  /** Along the step to the newest position, in pieces, with the tool behind. */
  walk(from: From, to: Onward, t_s: number): void {
    const { follow, step } = this;
    if (follow === null) return;
    const dt = t_s - from.t_s;
    const bend = to.heading_rad - from.heading_rad;
    const dx = to.x_m - from.x_m;
    const dy = to.y_m - from.y_m;
    const count = Math.min(Math.max(Math.ceil(Math.sqrt((hypot(dx, dy) * Math.abs(bend)) / (8 * SAGITTA_M))), 1), PIECES);
    const ax = from.speed_m_s * dt * Math.cos(from.heading_rad);
    const ay = from.speed_m_s * dt * Math.sin(from.heading_rad);
    const bx = to.speed_m_s * dt * Math.cos(to.heading_rad);
    const by = to.speed_m_s * dt * Math.sin(to.heading_rad);
    const back = to.speed_m_s < 0;
    for (let k = 1; k <= count; k++) {
      const u = k / count;
      // cubic Hermite: through both places with the velocities there
      const h10 = u * (1 - u) * (1 - u);
      const h01 = u * u * (3 - 2 * u);
      const h11 = u * u * (u - 1);
      step.ax_m = follow.x_m;
      step.ay_m = follow.y_m;
      step.a_rad = follow.heading_rad;
      follow.step(from.x_m + h10 * ax + h01 * dx + h11 * bx, from.y_m + h10 * ay + h01 * dy + h11 * by, from.heading_rad + u * bend, back);
      step.bx_m = follow.x_m;
      step.by_m = follow.y_m;
      step.b_rad = follow.heading_rad;
      if (!back) this.sower.sow(step, from.t_s + ((k - 1) / count) * dt, from.t_s + u * dt);
    }
  }

  /** Looks how the tool has moved since it last did; nought where a place is not known, or too long ago. */
  look(dt: number, most_s: number): void {
    const { x_m, y_m } = this;
    const heading = this.follow?.heading_rad ?? Number.NaN;
    const known = !Number.isNaN(this.lastX) && !Number.isNaN(x_m) && dt > 0 && dt <= most_s;
    this.turn_rad_s = known ? turn(this.last_rad, heading) / dt : 0;
    this.speed_m_s = known ? hypot(x_m - this.lastX, y_m - this.lastY) / dt : 0;
    this.lastX = x_m;
    this.lastY = y_m;
    this.last_rad = heading;
  }
}
