// What page and worker say to each other: what is to be computed, how far it is, what came out.
import type { PackPaddock, PackRig } from "../carry/pack";
import type { Place } from "../formats/place";
import type { Area, KeepOut, Patch, Question, Run, Settings, Tally } from "../core/words";
import type { Entry } from "../keep/entry";

/** Ground painted while driving: cells of 0.5 m on the plane centred there, tile by tile (core/grid). */
export interface Painted {
  readonly lat0_deg: number;
  readonly lon0_deg: number;
  readonly tiles: readonly { readonly column: number; readonly row: number; readonly passes: Uint8Array }[];
}

export interface Job {
  /** Entries that are not on the disk yet; all others the worker reads itself. */
  readonly unstored: readonly Entry[];
  /** This phone's label in the log. */
  readonly dev: string;
  /** Entries from this moment on, UTC ms. */
  readonly since_ms: number;
  readonly paddocks: readonly Pick<PackPaddock, "id" | "name" | "land">[];
  /** The paddock's id; null: the one where the newest position lies. */
  readonly paddock: string | null;
  /** Take the boundary from the first lap, where no paddock fits. */
  readonly lap: boolean;
  readonly rigs: readonly PackRig[];
  /** Keep-outs that were marked on this phone. */
  readonly outs: readonly KeepOut[];
  readonly settings: Settings;
  /** What was painted while driving, for a first answer; null: it is painted anew from the log. */
  readonly painted: Painted | null;
}

/** What the grid says at once: areas to some parts in a thousand, and no chance of anything. */
export interface First {
  readonly net_m2: number;
  readonly bare_m2: number;
  readonly parts: number;
}

/** A patch with where it lies in words. */
export interface Found extends Patch {
  readonly place: Place;
}

/** The day as computed, without what a page does not show. */
export interface Sums {
  /** Null: the boundary is that of the first lap. */
  readonly paddock: { readonly id: string; readonly name: string } | null;
  /** The plane on which the shapes lie. */
  readonly lat0_deg: number;
  readonly lon0_deg: number;
  readonly tally: Omit<Tally, "ways" | "ground" | "patches" | "questions" | "runs">;
  readonly ground: { readonly [state in "net" | "keep_out" | "sown" | "twice" | "doubt" | "unreachable"]: Area };
  /** In the order in which they are nearest one after another, from the newest position on. */
  readonly patches: readonly Found[];
  readonly questions: readonly Question[];
  readonly runs: readonly Run[];
  /** The newest position, on the plane. */
  readonly here: readonly [number, number];
  /** When the newest entry it counts was made, UTC ms. */
  readonly until_ms: number;
  readonly took_ms: number;
  /** No change of the lever was logged: runs are guessed from the movement. */
  readonly guessed: boolean;
  /** Another phone was at work at the same time: what it saw then is not counted here. */
  readonly alone: boolean;
}

/** Why nothing came out: an UnsownError's words, or those of what went wrong. */
export interface Failure {
  readonly code: string;
  readonly message: string;
  readonly hint: string;
}

export type Said =
  | { readonly what: "stage"; readonly stage: string; readonly part: number }
  | { readonly what: "first"; readonly first: First }
  | { readonly what: "done"; readonly sums: Sums }
  | { readonly what: "failed"; readonly why: Failure };
