// The tool behind the phone, step by step: what `bar` does for a whole track, for the picture on the way.
import { Link } from "./tow";
import type { Rig } from "./words";

/** Phone less than this ahead of the rear axle: the tractor's heading is its course, m. */
const DRAGGED_FROM_M = 0.3;
/** A step shorter than this tells no direction, m. */
const MOVED_M = 1e-9;
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

/** One link and the front point it was last dragged by. */
class Towed {
  private readonly link: Link;
  private pushed = 0;

  constructor(private readonly length_m: number, private x: number, private y: number, heading: number) {
    this.link = new Link(heading);
  }

  /** Drags the link's front point to a place; its heading there. `reset`: backing makes it straight. */
  to(x: number, y: number, back: boolean, reset: boolean): number {
    const [dx, dy] = [x - this.x, y - this.y];
    const step = Math.sqrt(dx * dx + dy * dy);
    [this.x, this.y] = [x, y];
    this.pushed = back ? this.pushed + step : 0;
    if (step > MOVED_M) {
      const way = Math.atan2(dy, dx) + (back ? Math.PI : 0);
      if (back && reset) this.link.straight(way);
      else if (!back) this.link.drag(way, step / this.length_m);
      else if (this.pushed <= this.length_m / 2) this.link.drag(way, -step / this.length_m);
    }
    return this.link.heading();
  }

  /** Puts the front point elsewhere; nothing was dragged. */
  put(x: number, y: number): void {
    [this.x, this.y] = [x, y];
  }
}

export class Follow {
  private tractor: Towed | null = null;
  private cart: Towed | null = null;
  private tool: Towed | null = null;
  private gone_m = 0;
  private last: readonly [number, number, number] = [0, 0, 0];

  constructor(private readonly rig: Rig) {}

  /** Whether it stands behind a phone yet. */
  get begun(): boolean {
    return this.tool !== null || this.tractor !== null || this.gone_m > 0;
  }

  /** Straight behind a phone at a place with a nose; what was known of the tool's heading is forgotten. */
  begin(x_m: number, y_m: number, nose_rad: number): Stance {
    const { rig } = this;
    const [cx, cy] = this.centre(x_m, y_m, nose_rad);
    const [c, s] = [Math.cos(nose_rad), Math.sin(nose_rad)];
    const ahead = rig.phone.ahead_of_axle_m;
    this.tractor = ahead >= DRAGGED_FROM_M ? new Towed(ahead, cx, cy, nose_rad) : null;
    let back = ahead + rig.axle_to_pin_m;
    this.cart = null;
    if (rig.cart !== null) {
      this.cart = new Towed(rig.cart.pin_to_axle_m, cx - back * c, cy - back * s, nose_rad);
      back += rig.cart.pin_to_axle_m + rig.cart.axle_to_pin_m;
    }
    this.tool = rig.kind === "mounted" ? null : new Towed(rig.tool.pin_to_axle_m, cx - back * c, cy - back * s, nose_rad);
    this.gone_m = 0;
    return this.step(x_m, y_m, nose_rad, false);
  }

  /** The phone came to a place with a nose, straight from the last one; backwards where `back`. */
  step(x_m: number, y_m: number, nose_rad: number, back: boolean): Stance {
    const [cx, cy] = this.centre(x_m, y_m, nose_rad);
    const way = Math.sqrt((cx - this.last[0]) ** 2 + (cy - this.last[1]) ** 2);
    const nose = this.tractor === null ? this.leaning(nose_rad, way) : this.tractor.to(cx, cy, back, true);
    this.last = [cx, cy, nose_rad];
    const stance = this.behind(cx, cy, nose, back);
    this.gone_m = back ? 0 : this.gone_m + way;
    return stance;
  }

  /** The picture moved under a rig that stood: nothing was dragged. */
  shift(dx_m: number, dy_m: number, stance: Stance): Stance {
    const by = (place: Place): Place => ({ ...place, x_m: place.x_m + dx_m, y_m: place.y_m + dy_m });
    const [cx, cy] = [this.last[0] + dx_m, this.last[1] + dy_m];
    this.last = [cx, cy, this.last[2]];
    this.tractor?.put(cx, cy);
    const moved = { ...stance, tractor: by(stance.tractor), pin: by(stance.pin), cart: stance.cart === null ? null : by(stance.cart), tool: by(stance.tool) };
    this.cart?.put(moved.pin.x_m, moved.pin.y_m);
    const drawn = moved.cart === null ? moved.pin : this.cartPin(moved.cart);
    this.tool?.put(drawn.x_m, drawn.y_m);
    return moved;
  }

  private centre(x: number, y: number, nose: number): [number, number] {
    const left = this.rig.phone.left_of_centre_m;
    return [x + left * Math.sin(nose), y - left * Math.cos(nose)];
  }

  /** A phone over or behind the axle: the nose leans into the turn. */
  private leaning(nose: number, way: number): number {
    const bend = way > 0.05 ? (nose - this.last[2]) / way : 0;
    return nose - Math.asin(Math.min(Math.max(this.rig.phone.ahead_of_axle_m * bend, -0.7), 0.7));
  }

  private behind(cx: number, cy: number, nose: number, back: boolean): Stance {
    const { rig } = this;
    const along = (from: Place, by: number): Place => ({
      x_m: from.x_m + by * Math.cos(from.heading_rad),
      y_m: from.y_m + by * Math.sin(from.heading_rad),
      heading_rad: from.heading_rad,
    });
    const tractor = along({ x_m: cx, y_m: cy, heading_rad: nose }, -rig.phone.ahead_of_axle_m);
    const pin = along(tractor, -rig.axle_to_pin_m);
    let [cart, drawn]: [Place | null, Place] = [null, pin];
    if (this.cart !== null && rig.cart !== null) {
      cart = along({ ...pin, heading_rad: this.cart.to(pin.x_m, pin.y_m, back, false) }, -rig.cart.pin_to_axle_m);
      drawn = this.cartPin(cart);
    }
    let tool = tractor;
    if (this.tool !== null) tool = along({ ...drawn, heading_rad: this.tool.to(drawn.x_m, drawn.y_m, back, false) }, -rig.tool.pin_to_axle_m);
    const aside = rig.tool.offset_left_m;
    tool = { ...tool, x_m: tool.x_m - aside * Math.sin(tool.heading_rad), y_m: tool.y_m + aside * Math.cos(tool.heading_rad) };
    const settle = rig.kind === "mounted" ? 0.1 : Math.max(rig.tool.pin_to_axle_m, 0.1);
    return { tractor, pin, cart, tool, swing_rad: START_RAD * Math.exp(-this.gone_m / settle) };
  }

  private cartPin(cart: Place): Place {
    const by = this.rig.cart?.axle_to_pin_m ?? 0;
    return { x_m: cart.x_m - by * Math.cos(cart.heading_rad), y_m: cart.y_m - by * Math.sin(cart.heading_rad), heading_rad: cart.heading_rad };
  }
}
