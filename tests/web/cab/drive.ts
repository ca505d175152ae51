// Drives a phone over ground that is nobody's, and tells what it would have measured.
import { Plane } from "../../../web/src/core/plane";
import type { Fix } from "../../../web/src/cab/live";

export const T0_MS = 1_790_000_000_000;
export const PLANE = new Plane(49.7, -106.2);

/** A drive in pieces, one position a second; headings in radians anticlockwise from east. */
export class Driver {
  readonly fixes: Fix[] = [];
  t_s = 0;

  constructor(public x = 0, public y = 0, public heading = 0, private readonly noise: () => number = () => 0, private readonly tells = true) {}

  /** Straight on or along an arc: seconds, speed, and how fast it turns. */
  go(seconds: number, speed: number, turn = 0): this {
    for (let k = 0; k < seconds; k++) {
      const middle = this.heading + turn / 2;
      const chord = turn === 0 ? speed : (2 * speed * Math.sin(turn / 2)) / turn;
      this.x += chord * Math.cos(middle);
      this.y += chord * Math.sin(middle);
      this.heading += turn;
      this.t_s += 1;
      this.see(speed);
    }
    return this;
  }

  stand(seconds: number, wander: (k: number) => readonly [number, number] = () => [0, 0]): this {
    const [x, y] = [this.x, this.y];
    for (let k = 0; k < seconds; k++) {
      const [dx, dy] = wander(k);
      [this.x, this.y] = [x + dx, y + dy];
      this.t_s += 1;
      this.see(0);
    }
    [this.x, this.y] = [x, y];
    return this;
  }

  private see(speed: number): void {
    const [lon_deg, lat_deg] = PLANE.degrees(this.x + this.noise(), this.y + this.noise());
    const course_deg = 90 - (this.heading * 180) / Math.PI;
    this.fixes.push({
      t_ms: T0_MS + this.t_s * 1000,
      lat_deg,
      lon_deg,
      acc_m: 3,
      speed_m_s: this.tells ? speed : Number.NaN,
      course_deg: this.tells && speed > 0 ? course_deg : Number.NaN,
    });
  }
}
