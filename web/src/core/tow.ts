// How a towed link follows its front point (tractrix), and the chain from phone to bar.
//
// A link of length L is dragged by its front point. Along a straight step Δs in direction ψ the link's
// swing φ = θ − ψ obeys tan(φ₁/2) = tan(φ₀/2)·exp(−Δs/L) exactly. Written for the half angle vector
// q = (cos θ/2, sin θ/2) that is a linear map: turn by −ψ/2, scale by exp(±Δs/2L), turn back. It takes ψ/2 twice, so
// any vector along or against (cos ψ/2, sin ψ/2) will do: no angle is asked for.
//
// Steady circle: hitch radius R gives axle radius √(R² − L²) (Western Highway Institute, Offtracking
// Characteristics, 1970). A step along an arc is taken as its chord: second order in the step, below
// 1 mm at 0.25 m steps on a 9 m turn.
import { hypot, unwrap } from "./columns";
import type { Floats, Rig } from "./words";

/** Phone less than this ahead of the rear axle: the tractor's heading is its course, m. */
export const DRAGGED_FROM_M = 0.3;
/** A step shorter than this tells no direction, m. */
const MOVED_M = 1e-9;

/**
 * What is known of the steps, each one shorter than the points: those driven backwards and those over
 * which nothing is known. After a step of the second kind a link starts anew, straight behind the next.
 */
export interface Steps {
  readonly backing?: ArrayLike<number>;
  readonly fresh?: ArrayLike<number>;
}

/** One link being towed: its heading as half-angle vector, turned step by step. */
export class Link {
  private c: number;
  private s: number;
  // not the whole number 0: code made for whole numbers would have to be made anew
  private pushed = -0;

  constructor(heading: number) {
    this.c = Math.cos(heading / 2);
    this.s = Math.sin(heading / 2);
  }

  /**
   * Its front point went so far east and north, m, backwards where `back`: then a link of this length is pushed,
   * and held after half of it; with `reset` it becomes straight instead.
   */
  follow(east: number, north: number, length_m: number, back: boolean, reset: boolean): void {
    const step = hypot(east, north);
    this.pushed = back ? this.pushed + step : 0;
    if (step <= MOVED_M || (back && !reset && this.pushed > length_m / 2)) return;
    const sign = back ? -1 : 1;
    const grow = Math.exp(Math.min((sign * step) / length_m, 60) / 2);
    this.turn(sign * east, sign * north, step, back && reset ? 0 : 1 / grow, grow);
  }

  /**
   * Turns it along a step so long: the part of its half angle that lies along grows by one number, the part aside by
   * the other. With none aside it is straight behind, the nearer of the two half angles.
   */
  turn(east: number, north: number, length: number, shrink: number, grow = 1): void {
    const along = east < 0 ? north : length + east;
    const aside = east < 0 ? length - east : north;
    const lengthwise = (along * this.c + aside * this.s) * grow;
    const sideways = (along * this.s - aside * this.c) * shrink;
    const c = along * lengthwise - aside * sideways;
    const s = aside * lengthwise + along * sideways;
    const size = hypot(c, s);
    this.c = c / size;
    this.s = s / size;
  }

  heading(): number {
    return 2 * Math.atan2(this.s, this.c);
  }

  /** Cosine and sine of its heading. */
  cosine(): number {
    return this.c * this.c - this.s * this.s;
  }

  sine(): number {
    return 2 * this.c * this.s;
  }
}

/**
 * Heading of a link whose front point runs through the given points, at every point, radians, unwrapped. The points
 * are moved so far back along it, m.
 *
 * `length_m` is from the front point to the link's own axle, above nought. Backing a link is pushed,
 * exact as long as it is short; after half a link length it is held. With `reset` (short links, where
 * pushing is hopelessly unstable) it then takes the direction of travel instead.
 */
export function tow(x: Floats, y: Floats, length_m: number, { backing = [], fresh = [] }: Steps = {}, reset = false, back_m = 0): Floats {
  const last = x.length - 1;
  /** How far the first step from one on that tells a direction goes forward, else the last. */
  let known = 0;
  const telling = (from: number): [number, number] => {
    known = Math.max(known, from);
    while (known < last - 1 && (fresh[known] || hypot(x[known + 1] - x[known], y[known + 1] - y[known]) <= MOVED_M)) known += 1;
    known = Math.min(known, last - 1);
    const sign = backing[known] ? -1 : 1;
    return [sign * (x[known + 1] - x[known]), sign * (y[known + 1] - y[known])];
  };
  const heading = new Float64Array(last + 1);
  if (last < 1) return heading;
  const [east, north] = telling(0);
  heading[0] = Math.atan2(north, east);
  const link = new Link(heading[0]);
  for (let k = 0; k < last; k++) {
    const [c, s] = [link.cosine(), link.sine()];
    link.follow(x[k + 1] - x[k], y[k + 1] - y[k], length_m, backing[k] === 1, reset);
    if (fresh[k]) {
      const way = telling(k + 1);
      link.turn(...way, hypot(...way) || 1, 0);
    }
    x[k] -= back_m * c;
    y[k] -= back_m * s;
    let next = link.heading();
    const turn = next - heading[k];
    if (Math.abs(turn) > Math.PI) next -= 2 * Math.PI * Math.round(turn / (2 * Math.PI));
    heading[k + 1] = next;
  }
  x[last] -= back_m * link.cosine();
  y[last] -= back_m * link.sine();
  return heading;
}

/** The tool at every point: its axle on the bar's middle line, its heading and the tractor's, radians. */
export interface Bar {
  readonly x_m: Floats;
  readonly y_m: Floats;
  readonly heading_rad: Floats;
  readonly tractor_rad: Floats;
}

/** From the phone's path to the tool; `course` is the tractor's nose, not flipped when backing. */
export function bar(rig: Rig, phone_x: Floats, phone_y: Floats, course: Floats, steps: Steps = {}): Bar {
  const left = rig.phone.left_of_centre_m;
  const ahead = rig.phone.ahead_of_axle_m;
  const [x, y] = [phone_x.slice(), phone_y.slice()];
  const shift = (lengthwise: number, sideways: number, heading: Floats): void => {
    if (lengthwise === 0 && sideways === 0) return;
    for (let i = 0; i < x.length; i++) {
      const [c, s] = [Math.cos(heading[i]), Math.sin(heading[i])];
      x[i] += lengthwise * c - sideways * s;
      y[i] += lengthwise * s + sideways * c;
    }
  };
  shift(0, -left, course);
  const mounted = rig.kind === "mounted";
  const pin = ahead + (mounted ? 0 : rig.axle_to_pin_m);
  let tractor: Floats;
  if (ahead >= DRAGGED_FROM_M) tractor = tow(x, y, ahead, steps, true, pin);
  else {
    const bend = curvature(x, y, course);
    tractor = course.map((c, i) => c - Math.asin(Math.min(Math.max(ahead * bend[i], -0.7), 0.7)));
    shift(-pin, 0, tractor);
  }
  let heading = tractor;
  if (!mounted) {
    const { cart, tool } = rig;
    if (cart !== null) tow(x, y, cart.pin_to_axle_m, steps, false, cart.pin_to_axle_m + cart.axle_to_pin_m);
    heading = tow(x, y, tool.pin_to_axle_m, steps, false, tool.pin_to_axle_m);
  }
  shift(0, rig.tool.offset_left_m, heading);
  return { x_m: x, y_m: y, heading_rad: heading, tractor_rad: tractor };
}

/** Turn of the course over each step's length, 1/m. */
function curvature(x: Floats, y: Floats, course: Floats): Floats {
  const smooth = unwrap(course);
  const bend = new Float64Array(x.length);
  for (let k = 0; k + 1 < x.length; k++) {
    const step = hypot(x[k + 1] - x[k], y[k + 1] - y[k]);
    bend[k] = step > 0.05 ? (smooth[k + 1] - smooth[k]) / step : 0;
  }
  if (x.length > 1) bend[x.length - 1] = bend[x.length - 2];
  return bend;
}
