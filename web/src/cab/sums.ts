// What page and worker say to each other: what is to be computed, how far it is, what came out.
import type { PackPaddock, PackRig } from "../carry/pack";
import type { Lasts, Left } from "../core/balance";
import type { Lost } from "../core/capacity";
import type { Glance } from "../core/glance";
import type { Handover } from "../core/handover";
import type { Row } from "../core/ledger";
import type { Place } from "../core/place";
import type { Prices } from "../core/price";
import type { Waste } from "../core/waste";
import type { Area, Flags, Floats, KeepOut, Mark, Patch, Question, Reset, Run, Settings, Tally } from "../core/words";
import type { Group } from "../core/worth";
import type { Entry } from "../keep/entry";
import type { Finish } from "./finish";

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
  readonly paddocks: readonly Pick<PackPaddock, "id" | "name" | "land">[];
  /** The paddock's id; null: the one where the newest position lies. */
  readonly paddock: string | null;
  /** Take the boundary from the first lap, where no paddock fits. */
  readonly lap: boolean;
  readonly rigs: readonly PackRig[];
  readonly settings: Settings;
  /** What was painted while driving, for a first answer; null: it is painted anew from the log. */
  readonly painted: Painted | null;
  /** Weigh what to go back for. */
  readonly weigh: boolean;
  readonly prices: Prices;
  /** Folding, the road there and back, unfolding, s. */
  readonly trip_s: number;
  /** What a hectare was set to get, by product, kg (fuel: l); what nobody has set is missing. */
  readonly rates: Readonly<Record<string, number>>;
  /** When the farm's day began, UTC ms. */
  readonly day_ms: number;
}

/** What the grid says at once: areas to some parts in a thousand, and no chance of anything. */
export type First = Glance;

/**
 * What to go back for, by the patches' numbers, and the way: the tractor's rear axle, x and y by turns, and
 * where the tool is down. `later`: what a trip of its own leaves, null: it does not repay the road.
 */
export interface Going {
  readonly groups: readonly (Pick<Group, "patches" | "label" | "value" | "cost" | "seconds" | "left_m2"> & { readonly runs: number })[];
  /** Of each stop: what lies on it, and what of that is to be asked about first. */
  readonly stops: readonly { readonly patches: readonly number[]; readonly ask: readonly number[]; readonly from: string; readonly length_m: number; readonly runs: number }[];
  readonly way: Floats;
  readonly tool_down: Flags;
  readonly seconds: number;
  /** The time without what is to be asked about first. */
  readonly sure_s: number;
  readonly net: number;
  readonly blocked: boolean;
  /** Whether the way ends at a gate of the paddock; else where the rig came in. */
  readonly gate_set: boolean;
  readonly later: number | null;
  /** For each product on board whether it lasts for the way; `stop`: where it runs dry, from 1. */
  readonly lasting: readonly (Lasts & { readonly product: string; readonly ha: number; readonly stop: number })[];
}

/** Ground gone over by map, speed and seed, ha (NaN: not known); how far apart, and whether to check. */
export interface Areas {
  readonly map_ha: number;
  readonly speed_ha: number;
  readonly product_ha: number;
  readonly apart: number;
  readonly check: boolean;
}

/** One product: what is left of it, the rate reckoned with and the one that was used; null: nothing tells. */
export interface Bin {
  readonly product: string;
  readonly unit: "kg" | "l";
  readonly left: Left | null;
  readonly rate: number | null;
  readonly mean: number | null;
  readonly rounds: number | null;
  readonly rows: readonly Row[];
  /** What the seconds of its rows count from, UTC ms. */
  readonly t0_ms: number;
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
  /** In driving order: the way first, then always the nearest one next. Numbered as home does, the largest first. */
  readonly patches: readonly Found[];
  /** Null: there is nothing to weigh. */
  readonly going: Going | null;
  readonly handed: Handover;
  readonly bins: readonly Bin[];
  readonly areas: Areas;
  /** Field efficiency and what the rest of the time in the paddock was lost to; null: nothing was sown. */
  readonly lost: Lost | null;
  /** What was sown again in the whole paddock, and hectares an hour over all hours; null: nothing was sown. */
  readonly again: (Waste & { readonly ha_h: number }) | null;
  /** Null: nothing is left but loose ends. */
  readonly finish: Finish | null;
  readonly questions: readonly Question[];
  readonly runs: readonly Run[];
  /** The newest position, on the plane. */
  readonly here: readonly [number, number];
  /** When the newest entry it counts was made, UTC ms. */
  readonly until_ms: number;
  readonly took_ms: number;
  /** Clocks that were set in the day before that. */
  readonly resets: readonly Reset[];
  /** No change of the lever was logged: runs are guessed from the movement. */
  readonly guessed: boolean;
  /** Keep-outs that were marked while driving, and what was said of patches: the page need not read the log for them. */
  readonly outs: readonly KeepOut[];
  readonly said: readonly Mark[];
  /** Another rig was at work at the same time, and not every phone named its card: it is not counted here. */
  readonly alone: boolean;
  /** The phones whose positions it counts. */
  readonly phones: readonly string[];
  /** This phone's rig among the tally's; below nought: there was but one. */
  readonly share: number;
}

/** Why nothing came out: an UnsownError's words, or those of what went wrong. */
export interface Failure {
  readonly code: string;
  readonly message: string;
  readonly hint: string;
}

/** What is asked of the driver, and of which paddock; null: of none of the pack's. */
export interface Open {
  readonly questions: readonly Question[];
  readonly paddock: string | null;
}

export type Said =
  | { readonly what: "stage"; readonly stage: string; readonly part: number }
  | { readonly what: "first"; readonly first: First }
  | { readonly what: "open"; readonly open: Open }
  | { readonly what: "done"; readonly sums: Sums }
  | { readonly what: "failed"; readonly why: Failure };
