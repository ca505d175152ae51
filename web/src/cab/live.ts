// The ground as it is sown, on the way: forward cleaning of the phone, the tool towed behind it, the
// lever's times, cells. What it shows is a first answer: the day is computed anew when asked.
import { LiveGrid, type Moment } from "../core/grid";
import { Follow, type Place, type Stance } from "../core/follow";
import { Forgot, type Doubtful } from "../core/forgot";
import { rigAt } from "../core/lever";
import { Onward } from "../core/onward";
import type { Plane } from "../core/plane";
import { Seeding, type Window } from "../core/seeding";
import { Strain, type Strained } from "../core/strain";
import { SLOW_M } from "../core/cue";
import type { Rig } from "../core/words";
import { Metered } from "./metered";
import { Usual } from "./usual";
import { Rest } from "./rest";
import { swept } from "./swept";
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
/** A step along an arc is taken in pieces with at most this sagitta, m. */
const SAGITTA_M = 0.02;
const PIECES = 20;
/** What was sown on this much way is remembered stretch by stretch, m. */
const BEHIND_M = 150;
/** Turning faster than this is a turn, rad/s. */
const TURN_RAD_S = 0.05;
const BEND_S = 5;

/** What a fix brought about, for tones and entries. */
export interface Happened {
  readonly strain: { readonly begun: boolean; readonly severe: boolean; readonly over: Strained | null };
  readonly doubt: Doubtful | null;
}

const NOTHING: Happened = { strain: { begun: false, severe: false, over: null }, doubt: null };

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

interface Sown {
  readonly way_m: number;
  readonly quad: Float64Array;
  readonly moment: Moment;
}

export class Live {
  readonly grid = new LiveGrid();
  readonly doubt = new LiveGrid();
  readonly metered = new Metered();
  private readonly onward = new Onward();
  private readonly rest = new Rest();
  private readonly usual = new Usual();
  private readonly forgot = new Forgot();
  private edges: EdgeFinder;
  private readonly t0_ms: number;
  private rig: Rig | null = null;
  private follow: Follow | null = null;
  private seeding: Seeding | null = null;
  private strain: Strain | null = null;
  private stance: Stance | null = null;
  private behind: Sown[] = [];
  private onWay = new Map<Window, number>();
  private way_m = 0;
  private down = false;
  private flowing = true;
  private changed_s = -Infinity;
  private straight_s = -Infinity;
  /** The last seconds and the nose then, by turns. */
  private readonly noses: number[] = [];
  private acc_m = Number.NaN;
  private seen_s = Number.NaN;
  private base = 0;
  private lastTool: Place | null = null;
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
    this.seeding?.lever(this.changed_s, down);
  }

  /** Seed stopped or runs again: what was sown just before it stopped is in doubt. */
  flow(on: boolean, t_ms: number, since_ms: number | null): void {
    const t_s = this.seconds(since_ms ?? t_ms);
    this.flowing = on;
    if (!on && this.down) {
      const run = this.seeding?.run ?? 0;
      for (const { quad, moment } of this.behind) {
        if (moment.run === run && (since_ms === null || moment.t_s >= t_s)) this.doubt.paint(quad, moment);
      }
    }
    this.seeding?.flow(t_s, on);
  }

  /** One position, in the order of time. */
  fix(fix: Fix): Happened {
    const t_s = this.seconds(fix.t_ms);
    if (fix.acc_m > ACC_LIMIT_M || !(t_s > this.seen_s || Number.isNaN(this.seen_s))) return NOTHING;
    this.card(fix.t_ms);
    if (t_s - this.seen_s > NIGHT_S) this.base = this.grid.covered;
    const [x_m, y_m] = this.plane.point(fix.lon_deg, fix.lat_deg);
    const gap = t_s - this.seen_s;
    const before = { x: this.onward.x_m, y: this.onward.y_m, v: this.onward.speed_m_s, h: this.onward.heading_rad, t: this.seen_s };
    if (this.onward.known && gap <= JOIN_S && Math.sqrt((x_m - before.x) ** 2 + (y_m - before.y) ** 2) > SPEED_LIMIT_M_S * gap) return NOTHING;
    // no run is steady before it has been seen to be one
    if (!(gap <= JOIN_S)) this.straight_s = t_s;
    this.seen_s = t_s;
    this.acc_m = fix.acc_m;
    const seen = { t_s, x_m, y_m, speed_m_s: fix.speed_m_s, course_rad: ((90 - fix.course_deg) * Math.PI) / 180 };
    const stood = this.rest.stands;
    if (this.rest.step(t_s, x_m, y_m, fix.speed_m_s)) return this.stand(t_s);
    if (stood && this.onward.known) this.getUp(x_m, y_m, t_s);
    if (gap > BRIDGE_S || (gap > JOIN_S && !this.bridges(before, x_m, y_m, gap))) {
      this.onward.begin(seen); // nothing is known of the way between
      this.onward.take(seen);
      this.stance = null;
      return NOTHING;
    }
    const was = this.onward.known;
    const done = this.onward.take(seen);
    if (!this.onward.known || done === "left") return NOTHING;
    if (done === "anew" || !was || this.stance === null || stood) this.place();
    else this.walk(before, t_s);
    return this.judge(before.t, t_s);
  }

  now(): Now {
    const { onward, seeding } = this;
    const stood_s = this.rest.stood(this.seen_s);
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
      steady_s: this.rest.stands ? 0 : this.seen_s - Math.max(this.straight_s, this.changed_s),
      stance: this.stance,
      rig: this.rig,
      down: this.down,
      flowing: seeding?.flowing ?? this.flowing,
      sown_ha: this.rig === null ? null : ((this.grid.covered - this.base) * 0.25) / 1e4,
      acc_m: this.acc_m,
      edge: this.edge(),
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
    const rig = this.rigs[rigAt(this.rigs, t_ms)] ?? null;
    if (rig === this.rig || rig === null) return;
    this.rig = rig;
    this.follow = new Follow(rig);
    this.strain = new Strain(rig.tool);
    const run = this.seeding?.run ?? 0;
    this.seeding = new Seeding(rig.times);
    this.seeding.run = run;
    this.stance = null;
    if (this.down) this.seeding.lever(this.seconds(t_ms), true);
    if (!this.flowing) this.seeding.flow(this.seconds(t_ms), false);
  }

  private stand(t_s: number): Happened {
    if (this.onward.known) this.onward.hold(this.onward.x_m, this.onward.y_m, t_s);
    this.straight_s = t_s;
    const strain = this.strain?.step(t_s, 0, 0, false) ?? NOTHING.strain;
    return { strain, doubt: this.doubtful(t_s, 0, 0) };
  }

  /** A parked phone's picture wandered: the rig is where it was, only seen elsewhere. */
  private getUp(x_m: number, y_m: number, t_s: number): void {
    const [dx, dy] = [x_m - this.onward.x_m, y_m - this.onward.y_m];
    this.onward.hold(x_m, y_m, t_s - 1);
    if (this.stance !== null && this.follow !== null) this.stance = this.follow.shift(dx, dy, this.stance);
  }

  private bridges(before: { x: number; y: number; v: number; h: number }, x: number, y: number, gap: number): boolean {
    const [dx, dy] = [x - before.x, y - before.y];
    const length = Math.sqrt(dx * dx + dy * dy);
    const off = Math.abs(Math.atan2(dx * Math.sin(before.h) - dy * Math.cos(before.h), dx * Math.cos(before.h) + dy * Math.sin(before.h)));
    return this.onward.known && off < BRIDGE_RAD && Math.abs(length / gap / before.v - 1) < BRIDGE_PART;
  }

  private place(): void {
    if (this.follow !== null) this.stance = this.follow.begin(this.onward.x_m, this.onward.y_m, this.onward.heading_rad);
  }

  /** Along the step to the newest position, in pieces, with the tool behind. */
  private walk(from: { x: number; y: number; v: number; h: number; t: number }, t_s: number): void {
    const { onward, follow } = this;
    if (follow === null || this.rig === null) return;
    const [dt, bend] = [t_s - from.t, Math.abs(onward.heading_rad - from.h)];
    const [dx, dy] = [onward.x_m - from.x, onward.y_m - from.y];
    const count = Math.min(Math.max(Math.ceil(Math.sqrt((Math.sqrt(dx * dx + dy * dy) * bend) / (8 * SAGITTA_M))), 1), PIECES);
    const [ax, ay] = [from.v * dt * Math.cos(from.h), from.v * dt * Math.sin(from.h)];
    const [bx, by] = [onward.speed_m_s * dt * Math.cos(onward.heading_rad), onward.speed_m_s * dt * Math.sin(onward.heading_rad)];
    const back = onward.speed_m_s < 0;
    for (let k = 1; k <= count; k++) {
      const u = k / count;
      const [h10, h01, h11] = [u * (1 - u) ** 2, u * u * (3 - 2 * u), u * u * (u - 1)];
      const x = from.x + h10 * ax + h01 * dx + h11 * bx;
      const y = from.y + h10 * ay + h01 * dy + h11 * by;
      const before = this.stance;
      this.stance = follow.step(x, y, from.h + u * (onward.heading_rad - from.h), back);
      if (before !== null && !back) this.sow(before.tool, this.stance.tool, from.t + ((k - 1) / count) * dt, from.t + u * dt);
    }
  }

  /** Paints what the bar sowed while it went from one pose to the next. */
  private sow(a: Place, b: Place, from_s: number, to_s: number): void {
    const { seeding, rig } = this;
    if (seeding === null || rig === null) return;
    const step = Math.sqrt((b.x_m - a.x_m) ** 2 + (b.y_m - a.y_m) ** 2);
    const { front_rank_m, rear_rank_m, width_m } = rig.tool;
    for (const window of seeding.between(from_s, to_s)) {
      const on = Math.max(window.on_s, from_s);
      const begun = this.onWay.get(window) ?? this.way_m + (step * (on - from_s)) / (to_s - from_s);
      this.onWay.set(window, begun);
      // every rank has seeded only where the rear one comes to where the front one began
      const rear = (begun + front_rank_m - rear_rank_m - this.way_m) / Math.max(step, 1e-9);
      const first = Math.max((on - from_s) / (to_s - from_s), rear);
      const last = Math.min((window.off_s - from_s) / (to_s - from_s), 1);
      if (!(first < last)) continue;
      const quad = swept(a, b, first, last, rear_rank_m, width_m);
      const moment = { run: window.run, t_s: from_s, way_m: this.way_m, width_m };
      this.grid.paint(quad, moment);
      this.metered.add(window.run, to_s, step * (last - first), width_m, b.x_m, b.y_m);
      this.behind.push({ way_m: this.way_m, quad, moment });
    }
    this.way_m += step;
    while ((this.behind[0]?.way_m ?? Infinity) < this.way_m - BEHIND_M) this.behind.shift();
    if (this.onWay.size > 8) this.onWay = new Map(Array.from(this.onWay).slice(-4));
  }

  /** What the step says of speed, strain and missing taps. */
  private judge(from_s: number, t_s: number): Happened {
    const { onward, seeding } = this;
    const [v, w] = [onward.speed_m_s, onward.turn_rad_s];
    if (this.bends(t_s) || v < 0.5) this.straight_s = t_s;
    else if (this.down && t_s - this.changed_s > 10) this.usual.add(v);
    const turn = this.toolTurn(t_s - from_s);
    const strain = this.strain?.step(t_s, turn.w, turn.v, seeding?.inGround(t_s) ?? false) ?? NOTHING.strain;
    return { strain, doubt: this.doubtful(t_s, v, w / Math.max(Math.abs(v), 0.5)) };
  }

  /** Whether it turns: by the nose over some seconds, since a phone's course wanders from one to the next. */
  private bends(t_s: number): boolean {
    const { noses } = this;
    noses.push(t_s, this.onward.heading_rad);
    while (noses.length > 2 && t_s - (noses[0] ?? 0) > BEND_S) noses.splice(0, 2);
    return Math.abs(this.onward.heading_rad - (noses[1] ?? 0)) > TURN_RAD_S * BEND_S;
  }

  private toolTurn(dt: number): { w: number; v: number } {
    const [before, tool] = [this.lastTool, this.stance?.tool ?? null];
    this.lastTool = tool;
    if (before === null || tool === null || !(dt > 0) || dt > JOIN_S) return { w: 0, v: 0 };
    const off = tool.heading_rad - before.heading_rad;
    const w = Math.atan2(Math.sin(off), Math.cos(off)) / dt;
    return { w, v: Math.sqrt((tool.x_m - before.x_m) ** 2 + (tool.y_m - before.y_m) ** 2) / dt };
  }

  private doubtful(t_s: number, speed_m_s: number, bend_1_m: number): Doubtful | null {
    const tool = this.stance?.tool;
    const fresh = tool !== undefined && this.edges.fresh(tool.x_m, tool.y_m, this.moment());
    return this.forgot.step({ t_s, speed_m_s, bend_1_m, down: this.down, fresh, usual_m_s: this.usual.median() });
  }

  private moment(): Moment {
    return { run: this.seeding?.run ?? 0, t_s: this.seen_s, way_m: this.way_m, width_m: this.rig?.tool.width_m ?? 1 };
  }

  /** Looked for once a position. */
  private edge(): Edge | null {
    if (this.edgeAt_s !== this.seen_s) [this.edgeNow, this.edgeAt_s] = [this.lookForEdge(), this.seen_s];
    return this.edgeNow;
  }

  private lookForEdge(): Edge | null {
    const { stance, onward, rig } = this;
    if (stance === null || rig === null || this.rest.stands || !(onward.speed_m_s > 0.3)) return null;
    const slow = Number.isFinite(this.acc_m) ? this.acc_m / 2.45 : SLOW_M;
    return this.edges.find(onward, stance.tool, rig, this.moment(), this.down, slow);
  }
}
