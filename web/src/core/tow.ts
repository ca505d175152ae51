// How a towed link follows its front point (tractrix), and the chain from phone to bar.
//
// A link of length L is dragged by its front point. Along a straight step Δs in direction ψ the link's
// swing φ = θ − ψ obeys tan(φ₁/2) = tan(φ₀/2)·exp(−Δs/L) exactly. Written for the half angle vector
// q = (cos θ/2, sin θ/2) that is a linear map: turn by −ψ/2, scale by exp(±Δs/2L), turn back.
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
  private pushed = 0;

  constructor(heading: number) {
    this.c = Math.cos(heading / 2);
    this.s = Math.sin(heading / 2);
  }

  /** Straight behind a front point that goes in a direction, the nearer of the two half angles. */
  straight(way: number): void {
    const [c, s] = [Math.cos(way / 2), Math.sin(way / 2)];
    const along = c * this.c + s * this.s;
    [this.c, this.s] = [c * along, s * along];
    this.scale();
  }

  /** Dragged (or with a negative length pushed) along a step: `signed` is its length in links. */
  drag(way: number, signed: number): void {
    const c = Math.cos(way / 2);
    const s = Math.sin(way / 2);
    const grow = Math.exp(Math.min(signed, 60) / 2);
    const along = (c * this.c + s * this.s) * grow;
    const aside = (c * this.s - s * this.c) / grow;
    this.c = c * along - s * aside;
    this.s = s * along + c * aside;
    this.scale();
  }

  /**
   * Its front point went so far in a direction, m, backwards where `back`: then a link of this length is pushed,
   * and held after half of it; with `reset` it becomes straight instead.
   */
  follow(way: number, step: number, length_m: number, back: boolean, reset: boolean): void {
    this.pushed = back ? this.pushed + step : 0;
    if (step <= MOVED_M) return;
    if (back && reset) this.straight(way);
    else if (!back || this.pushed <= length_m / 2) this.drag(way, (back ? -step : step) / length_m);
  }

  heading(): number {
    return 2 * Math.atan2(this.s, this.c);
  }

  private scale(): void {
    const size = hypot(this.c, this.s);
    this.c /= size;
    this.s /= size;
  }
}

/**
 * Heading of a link whose front point runs through the given points, at every point, radians, unwrapped.
 *
 * `length_m` is from the front point to the link's own axle, above nought. Backing a link is pushed,
 * exact as long as it is short; after half a link length it is held. With `reset` (short links, where
 * pushing is hopelessly unstable) it then takes the direction of travel instead.
 */
export function tow(x: Floats, y: Floats, length_m: number, { backing = [], fresh = [] }: Steps = {}, reset = false): Floats {
  const n = x.length;
  const way = new Float64Array(n - 1);
  const step = new Float64Array(n - 1);
  let first = -1;
  for (let k = 0; k + 1 < n; k++) {
    const dx = x[k + 1] - x[k];
    const dy = y[k + 1] - y[k];
    step[k] = hypot(dx, dy);
    way[k] = Math.atan2(dy, dx) + (backing[k] ? Math.PI : 0);
    if (first < 0 && step[k] > MOVED_M && !fresh[k]) first = k;
  }
  const heading = new Float64Array(n);
  heading[0] = way[Math.max(first, 0)] ?? 0;
  const link = new Link(heading[0]);
  const ahead = nextKnown(way, step, fresh);
  for (let k = 0; k + 1 < n; k++) {
    link.follow(way[k], step[k], length_m, backing[k] === 1, reset);
    if (fresh[k]) link.straight(ahead[k]);
    heading[k + 1] = link.heading();
  }
  return unwrap(heading);
}

/** At each step the direction of the next one that tells it (the last step's where none does). */
function nextKnown(way: Floats, step: Floats, fresh: ArrayLike<number>): Floats {
  const out = way.slice();
  let next = way[way.length - 1];
  for (let k = way.length - 1; k >= 0; k--) {
    if (step[k] > MOVED_M && !fresh[k]) next = way[k];
    out[k] = next;
  }
  return out;
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
  const x = phone_x.map((v, i) => v + left * Math.sin(course[i]));
  const y = phone_y.map((v, i) => v - left * Math.cos(course[i]));
  let tractor: Floats;
  if (ahead >= DRAGGED_FROM_M) tractor = tow(x, y, ahead, steps, true);
  else {
    const bend = curvature(x, y, course);
    tractor = course.map((c, i) => c - Math.asin(Math.min(Math.max(ahead * bend[i], -0.7), 0.7)));
  }
  const back = (by: number, heading: Floats): void => {
    for (let i = 0; i < x.length; i++) {
      x[i] -= by * Math.cos(heading[i]);
      y[i] -= by * Math.sin(heading[i]);
    }
  };
  back(ahead, tractor);
  let heading = tractor;
  if (rig.kind !== "mounted") {
    back(rig.axle_to_pin_m, tractor);
    if (rig.cart !== null) {
      const cart = tow(x, y, rig.cart.pin_to_axle_m, steps);
      back(rig.cart.pin_to_axle_m + rig.cart.axle_to_pin_m, cart);
    }
    heading = tow(x, y, rig.tool.pin_to_axle_m, steps);
    back(rig.tool.pin_to_axle_m, heading);
  }
  const aside = rig.tool.offset_left_m;
  for (let i = 0; i < x.length; i++) {
    x[i] -= aside * Math.sin(heading[i]);
    y[i] += aside * Math.cos(heading[i]);
  }
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
