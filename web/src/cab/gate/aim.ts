// The one patch that the driver goes to now: the working page shows it, and no other.
import { createStore } from "../store";

export interface Aim {
  readonly number: number;
  readonly lat_deg: number;
  readonly lon_deg: number;
  /** Corners on the ground, degrees: the outline's rings as longitude and latitude by turns. */
  readonly outline: readonly Float64Array[];
  /** Where it lies and how it is driven up to: for whoever stands. */
  readonly words: string;
  /** From which side and how far, to be had at a glance; empty where no way leads through it. */
  readonly enter: string;
}

export const aim = createStore<{ readonly aim: Aim | null }>({ aim: null });
