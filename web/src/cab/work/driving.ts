// What the working page knows while it logs.
import type { Doubtful } from "../../core/forgot";
import { createStore } from "../store";
import type { Live, Now } from "../live";
import type { SourceTrouble } from "../source";

export interface Driving {
  /** Positions are being logged. */
  readonly on: boolean;
  /** The picture is being made again from the log. */
  readonly making: boolean;
  readonly live: Live | null;
  readonly now: Now | null;
  /** No position for some seconds. */
  readonly silent: boolean;
  /** None for so long that nothing tells whether it moves at all. */
  readonly lost: boolean;
  readonly trouble: SourceTrouble | null;
  /** Positions come so seldom that turns are not seen well. */
  readonly seldom: boolean;
  /** Entries of the pad that are not on the disk yet, or could not be written. */
  readonly unstored: number;
  /** A tap seems to be missing. */
  readonly doubt: Doubtful["what"] | null;
  /** Corners in which tines were dragged too far sideways, since the page began. */
  readonly strains: number;
  /** When the last of them was, UTC ms. */
  readonly strained_ms: number;
  /** The tool was down when logging broke off for more than a moment: when that was, UTC ms, until the pad is touched. */
  readonly left_ms: number | null;
}

export const driving = createStore<Driving>({
  on: false,
  making: false,
  live: null,
  now: null,
  silent: false,
  lost: false,
  trouble: null,
  seldom: false,
  unstored: 0,
  doubt: null,
  strains: 0,
  strained_ms: Number.NEGATIVE_INFINITY,
  left_ms: null,
});
