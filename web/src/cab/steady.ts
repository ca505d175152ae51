// Whether it drives straight on: by the nose over some seconds, since a phone's course wanders from one to the next.

/** Turning faster than this is a turn, rad/s. */
const TURN_RAD_S = 0.05;
const BEND_S = 5;
/** What crawls is no run, m/s. */
const CRAWL_M_S = 0.5;

export class Steady {
  /** Since when. */
  since_s = -Infinity;
  /** The last seconds and the nose then, by turns. */
  private readonly noses: number[] = [];

  /** One moment; whether it goes straight on. */
  step(t_s: number, heading_rad: number, speed_m_s: number): boolean {
    const { noses } = this;
    noses.push(t_s, heading_rad);
    while (noses.length > 2 && t_s - (noses[0] ?? 0) > BEND_S) {
      noses.shift();
      noses.shift();
    }
    const straight = Math.abs(heading_rad - (noses[1] ?? 0)) <= TURN_RAD_S * BEND_S && speed_m_s >= CRAWL_M_S;
    if (!straight) this.since_s = t_s;
    return straight;
  }
}
