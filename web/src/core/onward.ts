// Where the phone is now, fix by fix: the forward half of the cleaning, for the picture on the way.
//
// An extended Kalman filter of a coordinated turn (Bar-Shalom, Li and Kirubarajan, "Estimation with
// Applications to Tracking and Navigation", 2001, ch. 11.7): state x, y (m), v (m/s, negative when backing),
// heading (rad) and turn rate (rad/s), driven by white acceleration and white yaw acceleration. Each
// measured number is taken in by itself, so nothing is ever inverted. The day is computed anew, with what
// came after each fix too, by `clean`; here nothing waits for it.
import { modulo } from "./columns";

const ACCELERATION = 0.4;
const YAW_ACCELERATION = 0.15;
const SPEED_SIGMA = 0.15;
const COURSE_SIGMA = (2 * Math.PI) / 180;
/** A course is believed above this speed, m/s. */
const COURSE_FROM = 0.8;
/** Position noise between two fixes: the first guess and its bounds, m, and how fast it is learned. */
const QUICK_M = 0.3;
const QUICK_LEAST_M = 0.05;
const QUICK_MOST_M = 3;
const LEARN = 0.02;
/** A fix this unlikely (chi-square, 2 degrees of freedom, 99.9 %) is left out, unless so many follow. */
const UNLIKELY = 13.8;
const PERSISTS = 5;
/** Before the first heading is known the phone has moved so far, m. */
const BEGUN_M = 1.5;
/** A course this far from the nose, slower than this, is backing; nobody backs a tool further than that. */
const FLIP = (120 * Math.PI) / 180;
const BACKING_M_S = 1.5;
const BACKING_M = 60;

const N = 5;
const X = 0;
const Y = 1;
const V = 2;
const H = 3;
const W = 4;

/** The way from one direction round to another, the shorter one, radians. */
const apart = (to: number, from: number): number => modulo(to - from + Math.PI, 2 * Math.PI) - Math.PI;

/** A position as measured, on the plane; NaN where not given. Course in radians anticlockwise from east. */
export interface Seen {
  readonly t_s: number;
  readonly x_m: number;
  readonly y_m: number;
  readonly speed_m_s: number;
  readonly course_rad: number;
}

/** What a fix did: taken in, left out, or begun anew from because the track broke here. */
export type Taken = "taken" | "left" | "anew";

export class Onward {
  /** Seconds of the newest fix that was taken in; NaN before the first. */
  t_s = Number.NaN;
  /** Whether a heading is known. */
  known = false;
  private readonly s = new Float64Array(N);
  private readonly p = new Float64Array(N * N);
  private readonly spare = new Float64Array(2 * N);
  private quick = QUICK_M ** 2;
  private refused = 0;
  /** Not a whole number from the first on: engines that tell the two apart compile everything here again otherwise. */
  private backed_m = Number.NaN;

  get x_m(): number {
    return this.s[X];
  }

  get y_m(): number {
    return this.s[Y];
  }

  /** Along the nose, negative when backing, m/s. */
  get speed_m_s(): number {
    return this.s[V];
  }

  /** The nose's, radians, not wrapped. */
  get heading_rad(): number {
    return this.s[H];
  }

  get turn_rad_s(): number {
    return this.s[W];
  }

  /** Takes in one fix, later than the one before. */
  take(fix: Seen): Taken {
    if (!this.known) return this.first(fix);
    this.predict(fix.t_s - this.t_s);
    if (this.unlikely(fix)) {
      this.refused += 1;
      if (this.refused < PERSISTS) {
        this.t_s = fix.t_s;
        return "left";
      }
      // so many in a row left out: it may be noise that is larger than was learned
      this.quick = Math.min(4 * this.quick, QUICK_MOST_M ** 2);
      this.begin(fix);
      this.first(fix);
      return "anew";
    }
    this.refused = 0;
    this.position(X, fix.x_m);
    this.position(Y, fix.y_m);
    this.motion(fix);
    const way = Math.abs(this.s[V] * (fix.t_s - this.t_s));
    this.backed_m = this.s[V] < 0 ? this.backed_m + way : 0;
    if (this.backed_m > BACKING_M) this.turnRound();
    this.t_s = fix.t_s;
    return "taken";
  }

  /** Forgets where it was and begins at this fix; the nose stays where it was until motion tells. */
  begin(fix: Seen): void {
    this.known = false;
    this.refused = 0;
    this.backed_m = 0;
    this.s[X] = fix.x_m;
    this.s[Y] = fix.y_m;
    this.s[V] = 0;
    this.s[W] = 0;
    this.t_s = fix.t_s;
  }

  /** Moves the whole picture to where a parked phone has come to lie; nothing drove. */
  hold(x_m: number, y_m: number, t_s: number): void {
    this.s[X] = x_m;
    this.s[Y] = y_m;
    this.s[V] = 0;
    this.s[W] = 0;
    this.backed_m = 0;
    this.t_s = t_s;
    this.spread(0.3, 0.3, 0.05, 0.05);
  }

  private first(fix: Seen): Taken {
    if (Number.isNaN(this.t_s)) this.begin(fix);
    const [dx, dy] = [fix.x_m - this.s[X], fix.y_m - this.s[Y]];
    const told = Number.isFinite(fix.course_rad) && fix.speed_m_s > COURSE_FROM;
    const moved = Math.sqrt(dx * dx + dy * dy);
    if (!told && moved < BEGUN_M) return "taken";
    const dt = Math.max(fix.t_s - this.t_s, 0.1);
    this.s[X] = fix.x_m;
    this.s[Y] = fix.y_m;
    this.s[H] = told ? fix.course_rad : Math.atan2(dy, dx);
    this.s[V] = Number.isFinite(fix.speed_m_s) ? fix.speed_m_s : Math.min(moved / dt, 8);
    this.s[W] = 0;
    this.t_s = fix.t_s;
    this.spread(0.5, 0.5, told ? 0.1 : 0.4, 0.1);
    this.known = true;
    return "taken";
  }

  private spread(place: number, speed: number, heading: number, rate: number): void {
    this.p.fill(0);
    [place, place, speed, heading, rate].forEach((sigma, i) => (this.p[i * N + i] = sigma ** 2));
  }

  private predict(dt: number): void {
    const { s, p } = this;
    const middle = s[H] + (s[W] * dt) / 2;
    const c = Math.cos(middle);
    const si = Math.sin(middle);
    const xh = -s[V] * dt * si;
    const yh = s[V] * dt * c;
    s[X] += s[V] * dt * c;
    s[Y] += s[V] * dt * si;
    s[H] += s[W] * dt;
    // P <- F P F': rows first, then columns; all that F has beside its ones stands in the rows of x, y and heading
    for (let j = 0; j < N; j++) this.carry(j, N, dt * c, dt * si, xh, yh, dt);
    for (let i = 0; i < N; i++) this.carry(i * N, 1, dt * c, dt * si, xh, yh, dt);
    const along = (ACCELERATION * dt * dt) / 2;
    const pushX = along * c;
    const pushY = along * si;
    const pushV = ACCELERATION * dt;
    const yawH = (YAW_ACCELERATION * dt * dt) / 2;
    const yawW = YAW_ACCELERATION * dt;
    p[X * N + X] += pushX * pushX;
    p[X * N + Y] += pushX * pushY;
    p[X * N + V] += pushX * pushV;
    p[Y * N + X] += pushY * pushX;
    p[Y * N + Y] += pushY * pushY;
    p[Y * N + V] += pushY * pushV;
    p[V * N + X] += pushV * pushX;
    p[V * N + Y] += pushV * pushY;
    p[V * N + V] += pushV * pushV;
    p[H * N + H] += yawH * yawH;
    p[H * N + W] += yawH * yawW;
    p[W * N + H] += yawW * yawH;
    p[W * N + W] += yawW * yawW;
  }

  /** One column of F P, or one row of P F': five numbers from `at` on, `by` apart. */
  private carry(at: number, by: number, xv: number, yv: number, xh: number, yh: number, dt: number): void {
    const { p } = this;
    const v = p[at + V * by];
    const h = p[at + H * by];
    const w = p[at + W * by];
    p[at] = p[at] + xv * v + xh * h + ((xh * dt) / 2) * w;
    p[at + by] = p[at + by] + yv * v + yh * h + ((yh * dt) / 2) * w;
    p[at + H * by] = h + dt * w;
  }

  private unlikely(fix: Seen): boolean {
    const { p, quick } = this;
    const dx = fix.x_m - this.s[X];
    const dy = fix.y_m - this.s[Y];
    const a = p[0] + quick;
    const b = p[1];
    const d = p[N + 1] + quick;
    return (d * dx * dx - 2 * b * dx * dy + a * dy * dy) / (a * d - b * b) > UNLIKELY;
  }

  private position(i: number, value: number): void {
    const off = value - this.s[i];
    const spread = this.p[i * N + i] + this.quick;
    this.update(i, off, this.quick);
    const learned = this.quick + LEARN * (off * off - spread);
    this.quick = Math.min(Math.max(learned, QUICK_LEAST_M ** 2), QUICK_MOST_M ** 2);
  }

  /** Speed and course: of the nose, so that backing is a negative speed. */
  private motion({ speed_m_s, course_rad }: Seen): void {
    const fast = speed_m_s > COURSE_FROM && Number.isFinite(course_rad);
    const off = fast ? apart(course_rad, this.s[H]) : 0;
    const back = fast ? Math.abs(off) > FLIP && Math.abs(this.s[V]) < BACKING_M_S : this.s[V] < 0;
    if (Number.isFinite(speed_m_s)) {
      this.update(V, (back ? -speed_m_s : speed_m_s) - this.s[V], SPEED_SIGMA ** 2);
    }
    if (!fast) return;
    const nose = back ? apart(course_rad + Math.PI, this.s[H]) : off;
    const sigma = COURSE_SIGMA * (1 + 1 / speed_m_s);
    this.update(H, nose, sigma ** 2);
  }

  private turnRound(): void {
    this.s[H] += Math.PI;
    this.s[V] = -this.s[V];
    this.backed_m = 0;
  }

  /** One measured number: state i is off by `off`, measured with this variance. */
  private update(i: number, off: number, variance: number): void {
    const { p, s, spare } = this;
    const total = p[i * N + i] + variance;
    for (let k = 0; k < N; k++) spare[k] = p[k * N + i] / total;
    for (let k = 0; k < N; k++) s[k] += spare[k] * off;
    for (let k = 0; k < N; k++) spare[N + k] = p[i * N + k];
    for (let k = 0; k < N; k++) {
      for (let j = 0; j < N; j++) p[k * N + j] -= spare[k] * spare[N + j];
    }
  }
}
