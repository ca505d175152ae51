// What the phone's page knows at this moment. Pages watch what they show and set what they find out.
import type { Home } from "../carry/pair";
import type { Pack } from "../carry/pack";
import type { Sending } from "../carry/courier";
import type { Lever } from "../keep/entry";
import type { Count, Headroom, Keeper, Trouble } from "../keep/keep";
import { createStore } from "./store";

/** Whether everything needed without a signal is on the phone; `missing` names files that are not. */
export type Ready =
  | { readonly state: "checking" }
  | { readonly state: "ready"; readonly version: string; readonly files: number }
  | { readonly state: "not"; readonly why: "no-worker" | "failed" | "missing"; readonly missing: readonly string[] };

/** `part` is the charge, 0 to 1; `left_h` how long it lasts at the drain seen so far, null: not known. */
export interface Battery {
  readonly part: number;
  readonly charging: boolean;
  readonly left_h: number | null;
}

export interface Cab {
  readonly keeper: Keeper | null;
  /** False: another tab of this phone keeps the log. */
  readonly writes: boolean;
  readonly count: Count;
  /** The label of another phone that logged at the same time; null: none that is known. */
  readonly also: string | null;
  /** Set while writing fails. */
  readonly trouble: Trouble | null;
  readonly home: Home | null;
  /** `keeper` logs; `passed` handed the log on; `offered` took a handover in; `rider` may only look. */
  readonly part: "keeper" | "passed" | "offered" | "rider";
  readonly sending: Sending;
  readonly pack: Pack | null;
  readonly ready: Ready;
  /** A newer version of this page is whole on the phone and waits to be asked for. */
  readonly newer: boolean;
  readonly room: Headroom | null;
  /** Null: the browser does not tell. */
  readonly battery: Battery | null;
  /** Whether the screen is kept awake; `none`: this browser cannot. */
  readonly awake: "held" | "lost" | "off" | "none";
  /** What the working page last wrote; a newer version is never taken while it is `down`. */
  readonly lever: Lever;
  /** False while the tractor moves: nothing is asked, no page opens by itself. */
  readonly standing: boolean;
  /** The name of the page that is shown. */
  readonly page: string;
}

export const cab = createStore<Cab>({
  keeper: null,
  writes: false,
  also: null,
  count: { last: 0, stored: 0, held: 0 },
  trouble: null,
  home: null,
  part: "keeper",
  sending: { state: "unpaired" },
  pack: null,
  ready: { state: "checking" },
  newer: false,
  room: null,
  battery: null,
  awake: "off",
  lever: "up",
  standing: true,
  page: "",
});

/** The log; a page is shown only once it is open. */
export function keeper(): Keeper {
  const found = cab.get().keeper;
  if (found === null) throw new Error("a page was shown before the log was open");
  return found;
}
