// What a bar sweeps: poses of the bar -> pieces of ground.
import type { Floats } from "./words";

/** A stretch of bar positions without a break; columns of one length. */
export interface Poses {
  readonly t_s: Floats;
  readonly x_m: Floats;
  readonly y_m: Floats;
  readonly heading_rad: Floats;
  readonly path_m: Floats;
}
