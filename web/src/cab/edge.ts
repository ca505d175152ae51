// The next edge along the run: sown ground or the fence ahead of a tool that sows, fresh ground ahead of
// one that is lifted. Looked for in cells, straight ahead: whether the headland is sown first or last need not
// be asked, because the nearer of the two is the edge.
import { apartM } from "../core/cue";
import type { Place } from "../core/follow";
import { CELL_M, type LiveGrid, type Moment } from "../core/grid";
import { boxOf, holds } from "../core/rings";
import { ranksBehind } from "../core/cue";
import type { Rig, Ring } from "../core/words";

/** The paddock on the plane, its keep-outs as holes; whether its line was surveyed, not driven. */
export interface Fence {
  readonly rings: readonly Ring[];
  readonly surveyed: boolean;
  /** What was sown there before, by others or on earlier days. */
  readonly before: readonly Ring[];
}

/** An edge: how far the phone is past it along the run (negative: before it), and how well that is known. */
export interface Edge {
  readonly what: "sown" | "fence" | "fresh";
  readonly past_m: number;
  readonly sigma_m: number;
}

/** It is looked so far ahead of the phone, m. */
const AHEAD_M = 45;
/** Ground counts as taken, or as fresh, when it is so for this much way, m. */
const TAKEN_M = 2;
const FRESH_M = 4;
/** A driven boundary is as wide of the mark as a phone; a surveyed one hardly. */
const LAP_M = 2;
const SURVEY_M = 0.3;

type What = "open" | "sown" | "fence";

export class EdgeFinder {
  private readonly box: { west: number; east: number; south: number; north: number } | null;

  constructor(private readonly grid: LiveGrid, private readonly fence: Fence | null) {
    this.box = fence === null || fence.rings.length === 0 ? null : boxOf(fence.rings);
  }

  /** Whether a place is inside the paddock and not sown before, here or by anybody that home knew of. */
  fresh(x_m: number, y_m: number, moment: Moment): boolean {
    return this.what(x_m, y_m, moment) === "open" && !(this.fence !== null && holds(this.fence.before, x_m, y_m));
  }

  find(phone: { x_m: number; y_m: number; heading_rad: number }, tool: Place, rig: Rig, moment: Moment, down: boolean, slow_m: number): Edge | null {
    const { front_m, rear_m } = ranksBehind(rig);
    const [c, s] = [Math.cos(phone.heading_rad), Math.sin(phone.heading_rad)];
    // the tool must be straight behind, else its way is not the phone's
    if (Math.cos(tool.heading_rad - phone.heading_rad) < 0.966) return null;
    const from = -Math.ceil((down ? rear_m : front_m) / CELL_M) * CELL_M;
    const wanted = down ? TAKEN_M : FRESH_M;
    let [held, since, kind]: [boolean, number, What] = [false, Number.NaN, "open"];
    for (let at = from; at <= AHEAD_M; at += CELL_M) {
      const what = this.what(phone.x_m + at * c, phone.y_m + at * s, moment);
      const turned = down ? what !== "open" : what === "open";
      if (!turned) {
        held = true;
        since = Number.NaN;
        continue;
      }
      if (!held) continue; // the bar is beyond it already
      if (Number.isNaN(since)) [since, kind] = [at, what];
      if (at - since < wanted) continue;
      const edge = down ? (kind === "fence" ? "fence" : "sown") : "fresh";
      const [ex, ey] = [phone.x_m + since * c, phone.y_m + since * s];
      return { what: edge, past_m: -since, sigma_m: this.sigma(edge, ex, ey, c, s, moment, slow_m) };
    }
    return null;
  }

  private sigma(edge: Edge["what"], x: number, y: number, c: number, s: number, moment: Moment, slow_m: number): number {
    const side = edge === "fresh" ? -1 : 1;
    const age = moment.t_s - this.grid.sownAt(x + side * c, y + side * s, moment);
    if (Number.isFinite(age)) return apartM(age, slow_m);
    return Math.sqrt(slow_m ** 2 + (this.fence?.surveyed === true ? SURVEY_M : LAP_M) ** 2);
  }

  private what(x: number, y: number, moment: Moment): What {
    if (this.fence !== null && this.box !== null) {
      const out = x < this.box.west || x > this.box.east || y < this.box.south || y > this.box.north;
      if (out || !holds(this.fence.rings, x, y)) return "fence";
    }
    return this.grid.sownBefore(x, y, moment) ? "sown" : "open";
  }
}
