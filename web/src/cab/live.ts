// The ground as it is sown, on the way: forward cleaning of the phone, the tool towed behind it, the
// lever's times, cells. What it shows is a first answer: the day is computed anew when asked.
import type { Stance } from "../core/follow";
import { Forgot, type Doubtful } from "../core/forgot";
import { rigAt } from "../core/lever";
import { hypot } from "../core/columns";
import { Onward } from "../core/onward";
import type { Plane } from "../core/plane";
import { CALM, Strain, type Straining } from "../core/strain";
import { SLOW_M } from "../core/cue";
import type { Rig } from "../core/words";
import { Usual } from "./usual";
import { Rest, Told } from "./rest";
import { Haul, type From } from "./haul";
import { Steady } from "./steady";
import { EdgeFinder, type Edge, type Fence } from "./edge";
import type { Painted } from "./sums";

/** One position as it came. NaN: not given. */
export interface Fix {
  readonly t_ms: number;
  readonly lat_deg: number;
  readonly lon_deg: number;
  readonly acc_m: number;
  readonly speed_m_s: number;
  readonly course_deg: number;
}

/** A fix whose 95 % radius is larger than this is left out, m. */
const ACC_LIMIT_M = 15;
const SPEED_LIMIT_M_S = 25;
/** Longer gaps are no step of the track, s; up to the second one they may be bridged. */
const JOIN_S = 5;
const BRIDGE_S = 30;
const BRIDGE_RAD = (15 * Math.PI) / 180;
const BRIDGE_PART = 0.25;
/** After a rest this long a new day's work begins, s. */
const NIGHT_S = 3 * 3600;
/** What a fix brought about, for tones and entries. */
export interface Happened {
  readonly strain: Straining;
  readonly doubt: Doubtful | null;
}

const NOTHING: Happened = { strain: CALM, doubt: null };

/** How it stands now. Lengths on the plane of the live picture, NaN and null where it is not known. */
export interface Now {
  readonly t_ms: number;
  readonly x_m: number;
  readonly y_m: number;
  readonly heading_rad: number;
  readonly speed_m_s: number;
  readonly turn_rad_s: number;
  readonly known: boolean;
  readonly standing: boolean;
  /** Seconds since it was last seen to move. */
  readonly stood_s: number;
  /** Seconds of an even run: straight, moving, the lever untouched. */
  readonly steady_s: number;
  readonly stance: Stance | null;
  readonly rig: Rig | null;
  readonly down: boolean;
  readonly flowing: boolean;
  /** Sown since the last night; null without a rig card. */
  readonly sown_ha: number | null;
  readonly acc_m: number;
  readonly edge: Edge | null;
  /** The day's speed with the tool down, m/s. */
  readonly usual_m_s: number;
}

export class Live {
  private readonly onward = new Onward();
  private readonly haul = new Haul();
  readonly grid = this.haul.sower.grid;
  readonly doubt = this.haul.sower.doubt;
  readonly metered = this.haul.sower.metered;
  private readonly rest = new Rest();
  private readonly told = new Told();
  private readonly usual = new Usual();
  private readonly steady = new Steady();
  private readonly forgot = new Forgot();
  private edges: EdgeFinder;
  private readonly t0_ms: number;
  private rig: Rig | null = null;
  private strain: Strain | null = null;
  private down = false;
  private flowing = true;
  private changed_s = -Infinity;
  private acc_m = Number.NaN;
  private seen_s = Number.NaN;
  private base = 0;
  private readonly from: From = { x_m: 0, y_m: 0, speed_m_s: 0, heading_rad: 0, t_s: Number.NaN };
  private edgeAt_s = Number.NaN;
  private edgeNow: Edge | null = null;

  constructor(readonly plane: Plane, private readonly rigs: readonly Rig[], fence: Fence | null, first_ms: number) {
    this.t0_ms = first_ms;
    this.edges = new EdgeFinder(this.grid, fence);
    this.card(first_ms);
  }

  /** Another paddock: its edges count from now on. */
  land(fence: Fence | null): void {
    this.edges = new EdgeFinder(this.grid, fence);
  }

  /** The lever moved. */
  lever(down: boolean, t_ms: number): void {
    this.down = down;
    this.changed_s = this.seconds(t_ms);
    this.haul.sower.lever(this.changed_s, down);
  }

  /** Seed stopped or runs again: what was sown just before it stopped is in doubt. */
  flow(on: boolean, t_ms: number, since_ms: number | null): void {
    const t_s = this.seconds(since_ms ?? t_ms);
    this.flowing = on;
    if (!on && this.down) this.haul.sower.suspect(since_ms === null ? -Infinity : t_s);
    this.haul.sower.flow(t_s, on);
  }

  /** One position, in the order of time. */
  fix(fix: Fix): Happened {
    const { onward, haul, from } = this;
    const t_s = this.seconds(fix.t_ms);
    if (fix.acc_m > ACC_LIMIT_M || !(t_s > this.seen_s || Number.isNaN(this.seen_s))) return NOTHING;
    this.card(fix.t_ms);
    if (t_s - this.seen_s > NIGHT_S) this.base = this.grid.covered;
    const at = this.plane.point(fix.lon_deg, fix.lat_deg);
    const x_m = at[0];
    const y_m = at[1];
    const gap = t_s - this.seen_s;
    from.x_m = onward.x_m;
    from.y_m = onward.y_m;
    from.speed_m_s = onward.speed_m_s;
    from.heading_rad = onward.heading_rad;
    from.t_s = this.seen_s;
    if (onward.known && gap <= JOIN_S && hypot(x_m - from.x_m, y_m - from.y_m) > SPEED_LIMIT_M_S * gap) return NOTHING;
    // no run is steady before it has been seen to be one
    if (!(gap <= JOIN_S)) this.steady.since_s = t_s;
    this.seen_s = t_s;
    this.acc_m = fix.acc_m;
    const seen = { t_s, x_m, y_m, speed_m_s: this.told.speed(t_s, x_m, y_m, fix.speed_m_s), course_rad: ((90 - fix.course_deg) * Math.PI) / 180 };
    const stood = this.rest.stands;
    if (this.rest.step(t_s, x_m, y_m, seen.speed_m_s)) return this.stand(t_s);
    if (stood && onward.known) this.getUp(x_m, y_m, t_s);
    if (gap > BRIDGE_S || (gap > JOIN_S && !this.bridges(x_m, y_m, gap))) {
      onward.begin(seen); // nothing is known of the way between
      onward.take(seen);
      haul.placed = false;
      return NOTHING;
    }
    const was = onward.known;
    const done = onward.take(seen);
    if (!onward.known || done === "left") return NOTHING;
    if (done === "anew" || !was || !haul.placed || stood) haul.place(onward);
    else haul.walk(from, onward, t_s);
    return this.judge(t_s);
  }

  now(): Now {
    const { onward, haul } = this;
    const stood_s = this.rest.stood(this.seen_s);
    const stance = haul.stance();
    return {
      t_ms: this.t0_ms + this.seen_s * 1000,
      x_m: onward.x_m,
      y_m: onward.y_m,
      heading_rad: onward.heading_rad,
      speed_m_s: onward.speed_m_s,
      turn_rad_s: onward.turn_rad_s,
      known: onward.known,
      standing: this.rest.stands,
      stood_s,
      steady_s: this.rest.stands ? 0 : this.seen_s - Math.max(this.steady.since_s, this.changed_s),
      stance,
      rig: this.rig,
      down: this.down,
      flowing: haul.sower.flowing ?? this.flowing,
      sown_ha: this.rig === null ? null : ((this.grid.covered - this.base) * 0.25) / 1e4,
      acc_m: this.acc_m,
      edge: this.edge(stance),
      usual_m_s: this.usual.median(),
    };
  }

  /** The tiles for a first answer, where some were painted. */
  painted(): Painted {
    return { lat0_deg: this.plane.lat0_deg, lon0_deg: this.plane.lon0_deg, tiles: Array.from(this.grid.all()) };
  }

  /** UTC ms of seconds that it counts. */
  ms(t_s: number): number {
    return this.t0_ms + t_s * 1000;
  }

  private seconds(t_ms: number): number {
    return (t_ms - this.t0_ms) / 1000;
  }

  /** The rig card that holds from now on. */
  private card(t_ms: number): void {
    if (this.rig !== null && this.rigs.length === 1) return;
    const rig = this.rigs[rigAt(this.rigs, t_ms)] ?? null;
    if (rig === this.rig || rig === null) return;
    this.rig = rig;
    this.strain = new Strain(rig.tool);
    this.haul.card(rig, this.seconds(t_ms), this.down, this.flowing);
  }

  private stand(t_s: number): Happened {
    if (this.onward.known) this.onward.hold(this.onward.x_m, this.onward.y_m, t_s);
    this.steady.since_s = t_s;
    return this.happened(this.strain?.step(t_s, 0, 0, false), this.doubtful(t_s, 0, 0));
  }

  /** A parked phone's picture wandered: the rig is where it was, only seen elsewhere. */
  private getUp(x_m: number, y_m: number, t_s: number): void {
    const [dx, dy] = [x_m - this.onward.x_m, y_m - this.onward.y_m];
    this.onward.hold(x_m, y_m, t_s - 1);
    this.haul.shift(dx, dy);
  }

  private bridges(x: number, y: number, gap: number): boolean {
    const { x_m, y_m, speed_m_s, heading_rad } = this.from;
    const [dx, dy] = [x - x_m, y - y_m];
    const [c, s] = [Math.cos(heading_rad), Math.sin(heading_rad)];
    const off = Math.abs(Math.atan2(dx * s - dy * c, dx * c + dy * s));
    return this.onward.known && off < BRIDGE_RAD && Math.abs(hypot(dx, dy) / gap / speed_m_s - 1) < BRIDGE_PART;
  }

  /** What the step says of speed, strain and missing taps. */
  private judge(t_s: number): Happened {
    const { onward, haul } = this;
    const v = onward.speed_m_s;
    if (this.steady.step(t_s, onward.heading_rad, v) && this.down && t_s - this.changed_s > 10) this.usual.add(v);
    haul.look(t_s - this.from.t_s, JOIN_S);
    const strain = this.strain?.step(t_s, haul.turn_rad_s, haul.speed_m_s, haul.sower.inGround(t_s));
    return this.happened(strain, this.doubtful(t_s, v, onward.turn_rad_s / Math.max(Math.abs(v), 0.5)));
  }

  private happened(strain: Straining = NOTHING.strain, doubt: Doubtful | null): Happened {
    return strain === CALM && doubt === null ? NOTHING : { strain, doubt };
  }

  private doubtful(t_s: number, speed_m_s: number, bend_1_m: number): Doubtful | null {
    return this.forgot.step({ t_s, speed_m_s, bend_1_m, down: this.down, fresh: this.fresh, usual_m_s: this.usual.median() });
  }

  /** Whether the bar is on ground to be sown. */
  private readonly fresh = (): boolean => {
    const { x_m, y_m, sower } = this.haul;
    return !Number.isNaN(x_m) && this.edges.fresh(x_m, y_m, sower.moment(this.seen_s));
  };

  /** Looked for once a position. */
  private edge(stance: Stance | null): Edge | null {
    if (this.edgeAt_s !== this.seen_s) {
      this.edgeNow = this.lookForEdge(stance);
      this.edgeAt_s = this.seen_s;
    }
    return this.edgeNow;
  }

  private lookForEdge(stance: Stance | null): Edge | null {
    const { onward, rig } = this;
    if (stance === null || rig === null || this.rest.stands || !(onward.speed_m_s > 0.3)) return null;
    const slow = Number.isFinite(this.acc_m) ? this.acc_m / 2.45 : SLOW_M;
    return this.edges.find(onward, stance.tool, rig, this.haul.sower.moment(this.seen_s), this.down, slow);
  }
}
