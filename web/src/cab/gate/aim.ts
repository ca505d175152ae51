// The one patch that the driver goes to now: the working page shows it, and no other.
import { createStore } from "../store";

export interface Aim {
  readonly number: number;
  readonly lat_deg: number;
  readonly lon_deg: number;
  /** Corners on the ground, degrees: the outline's rings as longitude and latitude by turns. */
  readonly outline: readonly Float64Array[];
  readonly words: string;
}

export const aim = createStore<{ readonly aim: Aim | null }>({ aim: null });
