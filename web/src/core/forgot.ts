// A tap that seems to be missing, said while driving: simple rules on what cannot well be otherwise (job
// paper 3.7). The whole day is looked at by `infer`, which asks; this only rings, once a stretch.

/** Tapped up, yet sowing: at the usual speed, straight, on fresh ground, for so long and so far. */
const SOWING_S = 25;
const SOWING_M = 40;
const LIKE_USUAL = 0.12;
const STRAIGHT_1_M = 0.012;
/** Tapped down, yet not sowing: much too fast, or turning like an empty headland turn, for so long, or parked. */
const LIFTED_S = 8;
const FAST_M_S = 5 / 3.6;
const TURN_1_M = 0.07;
const PARKED_S = 90;
/** After ringing it is quiet for so long, s. */
const QUIET_S = 300;

/** What one moment says: speed, how the nose turns per metre, whether the bar is on ground to be sown (asked only where it decides). */
export interface Moment {
  readonly t_s: number;
  readonly speed_m_s: number;
  readonly bend_1_m: number;
  readonly down: boolean;
  readonly fresh: () => boolean;
  /** The day's speed with the tool down; NaN while there is none. */
  readonly usual_m_s: number;
}

/** `sowing`: it looks like sowing, tapped up. `lifted`: it looks lifted, tapped down. Since when, s. */
export interface Doubtful {
  readonly what: "sowing" | "lifted";
  readonly since_s: number;
}

export class Forgot {
  private down = false;
  private last_s = Number.NaN;
  private since_s = Number.NaN;
  private parked_s = Number.NaN;
  private way_m = 0;
  private rung = false;
  private quiet_s = -Infinity;

  /** One moment; a doubt once a stretch, null otherwise. */
  step(moment: Moment): Doubtful | null {
    const { t_s, down, speed_m_s } = moment;
    if (down !== this.down) {
      this.down = down;
      this.clear();
    }
    const gone = Number.isNaN(this.last_s) ? 0 : Math.abs(speed_m_s) * (t_s - this.last_s);
    this.last_s = t_s;
    const parked = Math.abs(speed_m_s) < 0.25;
    this.parked_s = parked ? (Number.isNaN(this.parked_s) ? t_s : this.parked_s) : Number.NaN;
    if (!(down ? unlikeSowing(moment) : likeSowing(moment))) {
      if (down && t_s - this.parked_s > PARKED_S) return this.ring("lifted", this.parked_s, t_s);
      this.clear();
      return null;
    }
    if (Number.isNaN(this.since_s)) this.since_s = t_s;
    this.way_m += gone;
    const lasted = t_s - this.since_s;
    if (down && lasted >= LIFTED_S) return this.ring("lifted", this.since_s, t_s);
    if (!down && lasted >= SOWING_S && this.way_m >= SOWING_M) return this.ring("sowing", this.since_s, t_s);
    return null;
  }

  private ring(what: Doubtful["what"], since_s: number, t_s: number): Doubtful | null {
    if (this.rung || t_s < this.quiet_s) return null;
    this.rung = true;
    this.quiet_s = t_s + QUIET_S;
    return { what, since_s };
  }

  private clear(): void {
    this.since_s = Number.NaN;
    this.way_m = 0;
    this.rung = false;
  }
}

function likeSowing({ speed_m_s, usual_m_s, bend_1_m, fresh }: Moment): boolean {
  return Math.abs(speed_m_s / usual_m_s - 1) < LIKE_USUAL && Math.abs(bend_1_m) < STRAIGHT_1_M && fresh();
}

function unlikeSowing({ speed_m_s, usual_m_s, bend_1_m, fresh }: Moment): boolean {
  if (speed_m_s > usual_m_s + FAST_M_S) return true;
  // a loop over ground that is sown already is a headland turn
  return speed_m_s > 0.5 && Math.abs(bend_1_m) > TURN_1_M && !fresh();
}
