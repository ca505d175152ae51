// Points along all runs, and gaps between edges seen from them.
import type { Floats, Ints } from "./words";

/**
 * Points along all runs, in time order: the middle of the bar, its heading, the run's index, an index
 * of the unbroken stretch, the phone's leg and the working width; columns of one length.
 */
export interface Samples {
  readonly t_s: Floats;
  readonly x_m: Floats;
  readonly y_m: Floats;
  readonly heading_rad: Floats;
  readonly run: Ints;
  readonly stretch: Ints;
  readonly leg: Ints;
  readonly width_m: Floats;
}
