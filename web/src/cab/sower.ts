// The ground that the bar sows, step by step of its tool: painted in cells, metered for the bins, and remembered
// for a while, so that it can be put in doubt when seed stopped.
import { Behind } from "../core/behind";
import { hypot } from "../core/columns";
import { LiveGrid, type Moment } from "../core/grid";
import { Seeding } from "../core/seeding";
import type { Rig } from "../core/words";
import { Metered } from "./metered";
import { swept, type Step } from "./swept";

/** What was sown on this much way is remembered, m. */
const BEHIND_M = 150;

export class Sower {
  readonly grid = new LiveGrid();
  readonly doubt = new LiveGrid();
  readonly metered = new Metered();
  private readonly behind = new Behind();
  private rig: Rig | null = null;
  private seeding: Seeding | null = null;
  private way_m = 0;
  private readonly quad = new Float64Array(8);
  private readonly at: { -readonly [K in keyof Moment]: Moment[K] } = { run: 0, t_s: 0, way_m: 0, width_m: 1 };

  /** Another rig card holds from now on; how lever and seed were left. */
  card(rig: Rig, t_s: number, down: boolean, flowing: boolean): void {
    const run = this.seeding?.run ?? 0;
    this.rig = rig;
    this.seeding = new Seeding(rig.times);
    this.seeding.run = run;
    if (down) this.seeding.lever(t_s, true);
    if (!flowing) this.seeding.flow(t_s, false);
  }

  lever(t_s: number, down: boolean): void {
    this.seeding?.lever(t_s, down);
  }

  flow(t_s: number, on: boolean): void {
    this.seeding?.flow(t_s, on);
  }

  /** Whether seed runs; null without a rig card. */
  get flowing(): boolean | null {
    return this.seeding?.flowing ?? null;
  }

  inGround(t_s: number): boolean {
    return this.seeding?.inGround(t_s) ?? false;
  }

  /** The bar at a moment. */
  moment(t_s: number): Moment {
    return { run: this.seeding?.run ?? 0, t_s, way_m: this.way_m, width_m: this.rig?.tool.width_m ?? 1 };
  }

  /** What this run sowed of late is in doubt, from a moment on. */
  suspect(from_s: number): void {
    this.behind.paint(this.doubt, this.seeding?.run ?? 0, from_s);
  }

  /** Paints what the bar sowed while its tool made a step forward, from one moment to another. */
  sow(step: Step, from_s: number, to_s: number): void {
    const { seeding, rig, at } = this;
    if (seeding === null || rig === null) return;
    const long = hypot(step.bx_m - step.ax_m, step.by_m - step.ay_m);
    const { front_rank_m, rear_rank_m, width_m } = rig.tool;
    const span = to_s - from_s;
    const windows = seeding.from(from_s);
    for (let i = 0; i < windows.length; i++) {
      const window = windows[i];
      if (window === undefined) break;
      const on = Math.max(window.on_s, from_s);
      if (on >= to_s || window.off_s <= on) continue;
      if (Number.isNaN(window.begun_m)) window.begun_m = this.way_m + (long * (on - from_s)) / span;
      // every rank has seeded only where the rear one comes to where the front one began
      const rear = (window.begun_m + front_rank_m - rear_rank_m - this.way_m) / Math.max(long, 1e-9);
      const first = Math.max((on - from_s) / span, rear);
      const last = Math.min((window.off_s - from_s) / span, 1);
      if (!(first < last)) continue;
      swept(step, first, last, rear_rank_m, width_m, this.quad);
      at.run = window.run;
      at.t_s = from_s;
      at.way_m = this.way_m;
      at.width_m = width_m;
      this.grid.paint(this.quad, at);
      this.behind.push(this.quad, at);
      this.metered.add(window.run, to_s, long * (last - first), width_m, step.bx_m, step.by_m);
    }
    this.way_m += long;
    this.behind.forget(this.way_m - BEHIND_M);
  }
}
