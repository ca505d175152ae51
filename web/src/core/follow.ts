// The tool behind the phone, step by step: what `bar` does for a whole track, for the picture on the way.
//
// Numbers in fields, no objects: a day is followed anew before the driver sees his ground again. They begin as no
// number, because engines that tell whole numbers from others compile everything again when the first other comes.
import { hypot } from "./columns";
import { DRAGGED_FROM_M, Link } from "./tow";
import type { Rig } from "./words";

/** What is not known of a tool's heading where it begins, radians. */
const START_RAD = Math.PI / 3;

/** A point with a direction: metres on the plane, radians. */
export interface Place {
  readonly x_m: number;
  readonly y_m: number;
  readonly heading_rad: number;
}

/** The rig as it stands: the tractor's rear axle, the pin its tool is drawn by, a cart's axle, the tool's. */
export interface Stance {
  readonly tractor: Place;
  readonly pin: Place;
  readonly cart: Place | null;
  readonly tool: Place;
  /** What is not known of the tool's heading, radians. */
  readonly swing_rad: number;
}

/** One link: the front point it was last dragged by, and the point that it draws behind its axle. */
class Towed {
  heading: number;
  /** Its axle. */
  x = Number.NaN;
  y = Number.NaN;
  private readonly link: Link;

  constructor(private readonly length_m: number, private fx: number, private fy: number, heading: number) {
    this.link = new Link(heading);
    this.heading = heading;
  }

  /** Drags the link's front point to a place. `reset`: backing makes it straight. */
  to(x: number, y: number, back: boolean, reset: boolean): void {
    const dx = x - this.fx;
    const dy = y - this.fy;
    this.fx = x;
    this.fy = y;
    this.link.follow(dx, dy, this.length_m, back, reset);
    this.heading = this.link.heading();
    this.x = x - this.length_m * this.link.cosine();
    this.y = y - this.length_m * this.link.sine();
  }

  /** The picture moved under it: nothing was dragged. */
  shift(dx: number, dy: number): void {
    this.fx += dx;
    this.fy += dy;
    this.x += dx;
    this.y += dy;
  }
}

export class Follow {
  /** The tool: the middle of its bar at its axle. */
  x_m = Number.NaN;
  y_m = Number.NaN;
  heading_rad = Number.NaN;
  private tractor: Towed | null = null;
  private cart: Towed | null = null;
  private tool: Towed | null = null;
  private gone_m = Number.NaN;
  /** The phone's place over the tractor's middle line, its nose, and the tractor's own. */
  private cx = Number.NaN;
  private cy = Number.NaN;
  private course = Number.NaN;
  private nose = Number.NaN;
  private swing = START_RAD;

  constructor(private readonly rig: Rig) {}

  /** Straight behind a phone at a place with a nose; what was known of the tool's heading is forgotten. */
  begin(x_m: number, y_m: number, nose_rad: number): void {
    const { rig } = this;
    this.centre(x_m, y_m, nose_rad);
    const c = Math.cos(nose_rad);
    const s = Math.sin(nose_rad);
    const towed = (length_m: number, back: number): Towed => new Towed(length_m, this.cx - back * c, this.cy - back * s, nose_rad);
    const ahead = rig.phone.ahead_of_axle_m;
    this.tractor = ahead >= DRAGGED_FROM_M ? towed(ahead, 0) : null;
    let back = ahead + rig.axle_to_pin_m;
    this.cart = null;
    if (rig.cart !== null) {
      this.cart = towed(rig.cart.pin_to_axle_m, back);
      back += rig.cart.pin_to_axle_m + rig.cart.axle_to_pin_m;
    }
    this.tool = rig.kind === "mounted" ? null : towed(rig.tool.pin_to_axle_m, back);
    this.gone_m = 0;
    this.step(x_m, y_m, nose_rad, false);
  }

  /** The phone came to a place with a nose, straight from the last one; backwards where `back`. */
  step(x_m: number, y_m: number, nose_rad: number, back: boolean): void {
    const { rig, cx, cy, course } = this;
    this.centre(x_m, y_m, nose_rad);
    const way = hypot(this.cx - cx, this.cy - cy);
    if (this.tractor === null) this.nose = this.leaning(nose_rad, course, way);
    else {
      this.tractor.to(this.cx, this.cy, back, true);
      this.nose = this.tractor.heading;
    }
    this.behind(back);
    const settle = rig.kind === "mounted" ? 0.1 : Math.max(rig.tool.pin_to_axle_m, 0.1);
    this.swing = START_RAD * Math.exp(-this.gone_m / settle);
    this.gone_m = back ? 0 : this.gone_m + way;
  }

  /** The picture moved under a rig that stood: nothing was dragged. */
  shift(dx_m: number, dy_m: number): void {
    this.cx += dx_m;
    this.cy += dy_m;
    this.x_m += dx_m;
    this.y_m += dy_m;
    for (const each of [this.tractor, this.cart, this.tool]) each?.shift(dx_m, dy_m);
  }

  stance(): Stance {
    const { rig, nose, cart } = this;
    const on = (by: number): Place => ({ x_m: this.cx - by * Math.cos(nose), y_m: this.cy - by * Math.sin(nose), heading_rad: nose });
    const ahead = rig.phone.ahead_of_axle_m;
    return {
      tractor: on(ahead),
      pin: on(ahead + rig.axle_to_pin_m),
      cart: cart === null ? null : { x_m: cart.x, y_m: cart.y, heading_rad: cart.heading },
      tool: { x_m: this.x_m, y_m: this.y_m, heading_rad: this.heading_rad },
      swing_rad: this.swing,
    };
  }

  private centre(x: number, y: number, nose: number): void {
    const left = this.rig.phone.left_of_centre_m;
    this.cx = x + left * Math.sin(nose);
    this.cy = y - left * Math.cos(nose);
    this.course = nose;
  }

  /** A phone over or behind the axle: the nose leans into the turn. */
  private leaning(nose: number, before: number, way: number): number {
    const bend = way > 0.05 ? (nose - before) / way : 0;
    return nose - Math.asin(Math.min(Math.max(this.rig.phone.ahead_of_axle_m * bend, -0.7), 0.7));
  }

  /** From the tractor's pin to the bar. */
  private behind(back: boolean): void {
    const { rig, nose, cart, tool } = this;
    const c = Math.cos(nose);
    const s = Math.sin(nose);
    let x = this.cx - rig.phone.ahead_of_axle_m * c;
    let y = this.cy - rig.phone.ahead_of_axle_m * s;
    let heading = nose;
    if (tool !== null) {
      x -= rig.axle_to_pin_m * c;
      y -= rig.axle_to_pin_m * s;
      if (cart !== null && rig.cart !== null) {
        cart.to(x, y, back, false);
        x = cart.x - rig.cart.axle_to_pin_m * Math.cos(cart.heading);
        y = cart.y - rig.cart.axle_to_pin_m * Math.sin(cart.heading);
      }
      tool.to(x, y, back, false);
      x = tool.x;
      y = tool.y;
      heading = tool.heading;
    }
    const aside = rig.tool.offset_left_m;
    this.x_m = x - aside * Math.sin(heading);
    this.y_m = y + aside * Math.cos(heading);
    this.heading_rad = heading;
  }
}
