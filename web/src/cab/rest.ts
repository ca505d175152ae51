// Whether the vehicle stands, told from the last few seconds: a parked phone wanders, slowly.

const WINDOW_S = 4;
const SLOW_M_S = 0.25;
/** It goes again when it is faster than this, or has come so far within the window. */
const GO_M_S = 0.4;
const GO_M = 2;

interface Row {
  readonly t_s: number;
  readonly x_m: number;
  readonly y_m: number;
  readonly speed_m_s: number;
}

/** A reported speed is looked at over this long, s, where the positions come so far meanwhile, m. */
const ROUND_S = 10;
const WAY_M = 10;

/** Whether the phone's speed is believed: not after a way that was twice as long as it reported. */
export class Told {
  private t_s = Number.NaN;
  private last_s = Number.NaN;
  private x_m = Number.NaN;
  private y_m = Number.NaN;
  private way_m = Number.NaN;
  private good = true;

  /** One position; its speed where that is believed, else NaN. */
  speed(t_s: number, x_m: number, y_m: number, speed_m_s: number): number {
    this.way_m += (speed_m_s || 0) * (t_s - this.last_s);
    this.last_s = t_s;
    if (!(t_s - this.t_s < ROUND_S)) {
      const far = Math.sqrt((x_m - this.x_m) ** 2 + (y_m - this.y_m) ** 2);
      // a stand tells nothing, and neither does a hole in the fixes
      if (far > WAY_M && t_s - this.t_s < 2 * ROUND_S) this.good = 2 * this.way_m > far;
      this.t_s = t_s;
      this.x_m = x_m;
      this.y_m = y_m;
      this.way_m = 0;
    }
    return this.good ? speed_m_s : Number.NaN;
  }
}

export class Rest {
  stands = false;
  private rows: Row[] = [];
  private moved_s = Number.NaN;

  /** One position; whether it stands now. */
  step(t_s: number, x_m: number, y_m: number, speed_m_s: number): boolean {
    const before = this.rows[this.rows.length - 1];
    // a hole tells nothing of the time in it
    if (before !== undefined && t_s - before.t_s > 2 * WINDOW_S) this.rows = [];
    this.rows.push({ t_s, x_m, y_m, speed_m_s });
    while (this.rows.length > 2 && t_s - (this.rows[1]?.t_s ?? t_s) >= WINDOW_S) this.rows.shift();
    const first = this.rows[0];
    if (Number.isNaN(this.moved_s)) this.moved_s = t_s;
    if (first === undefined) return this.stands;
    const far = Math.sqrt((x_m - first.x_m) ** 2 + (y_m - first.y_m) ** 2);
    const whole = t_s - first.t_s >= WINDOW_S;
    // what has come so far goes: the rest need not be looked at
    if (this.stands || (whole && far < GO_M)) {
      const told = this.rows.every((row) => Number.isFinite(row.speed_m_s));
      if (this.stands) this.stands = told ? speed_m_s < GO_M_S : far < GO_M;
      else this.stands = told ? this.rows.every((row) => row.speed_m_s < SLOW_M_S) : far < SLOW_M_S * WINDOW_S;
    }
    if (!this.stands) this.moved_s = t_s;
    return this.stands;
  }

  /** Seconds since it moved; the window in which that showed counts too. */
  stood(t_s: number): number {
    return this.stands ? t_s - this.moved_s + WINDOW_S : 0;
  }
}
