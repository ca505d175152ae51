// The nouns of the job, read-only, with a unit in the name of every measured field: those of
// server/unsown/core/words.py. Fields are spelled as in the log, in JSON and in the engine at home,
// so that one word means one thing everywhere.
//
// Degrees are WGS84. Times are UTC milliseconds since 1970 (`t_ms`) or seconds since the day's first
// fix (`t_s`). Lengths are metres, headings radians anticlockwise from east, left is positive. NaN in
// a column means "not given". A column is a typed array, one value a row.
import type { Between, Share } from "./rigs";

export type Floats = Float64Array;
export type Ints = Int32Array;
/** Nought or one. */
export type Flags = Uint8Array;

/** A closed line as x0, y0, x1, y1, …; the first point is not said again. */
export type Ring = Float64Array;
/** Outer ring first, then its holes. */
export type Polygon = readonly Ring[];
/** Polygons that share no ground; none at all is no ground. */
export type Area = readonly Polygon[];

export type RigKind = "towed" | "mounted" | "cart-between";
export type PatchKind = "corner" | "start" | "finish" | "pocket" | "strip" | "edge";
export type Call = "sure" | "likely" | "can't tell";

/** Something a reader or the engine left out: how many, where and why. */
export interface Skipped {
  readonly reason: string;
  readonly count: number;
  readonly where: string;
}

/**
 * Positions as they came, one row a fix, in time order of their source; columns of one length.
 * `acc_m` is the reported accuracy radius, `speed_m_s` the reported speed over ground, `course_deg`
 * the reported course clockwise from north; NaN where the source gave none. `phone` indexes
 * `phones`; `segment` numbers the source's own segments, one after another over all files.
 */
export interface Fixes {
  readonly t_ms: Floats;
  readonly lat_deg: Floats;
  readonly lon_deg: Floats;
  readonly acc_m: Floats;
  readonly speed_m_s: Floats;
  readonly course_deg: Floats;
  readonly phone: Ints;
  readonly segment: Ints;
  readonly phones: readonly string[];
}

/**
 * One log entry that is not a fix. `kind` is the log's word (`lever`, `flow`, `mark`, `fill`, `peg`,
 * `stop`, `shift`, `blind`, `rig`, `say`, `undo`, `walk`, `phone`), `seq` its number in that phone's log, 0
 * where the source has no numbers, `says` its other fields such as `{ lever: "down" }`.
 */
export interface Mark {
  readonly t_ms: number;
  readonly kind: string;
  readonly phone: string;
  readonly seq: number;
  readonly says: Readonly<Record<string, unknown>>;
}

/** Everything that was logged: fixes and marks, with what the readers skipped. */
export interface Log {
  readonly fixes: Fixes;
  readonly marks: readonly Mark[];
  readonly skipped: readonly Skipped[];
  readonly notes: readonly string[];
  readonly resets?: readonly Reset[];
}

/** A clock that was set while it wrote: when, by the clock counted on, and by how much, s (below nought: back). */
export interface Reset {
  readonly t_ms: number;
  readonly set_s: number;
}

/** Where the phone sits on the tractor. */
export interface PhonePlace {
  readonly ahead_of_axle_m: number;
  readonly left_of_centre_m: number;
  /** Not in packs of older homes: the phone is then taken to be at the seat. */
  readonly ahead_of_seat_m?: number;
}

/** A cart between tractor and tool. */
export interface Cart {
  readonly pin_to_axle_m: number;
  readonly axle_to_pin_m: number;
}

/**
 * The seeding tool. Ranks are measured ahead of its axle (behind is negative); for a mounted tool,
 * which has none, from the tractor's rear axle.
 */
export interface Tool {
  readonly width_m: number;
  readonly openers: number | null;
  readonly spacing_m: number | null;
  readonly pin_to_axle_m: number;
  readonly front_rank_m: number;
  readonly rear_rank_m: number;
  readonly offset_left_m: number;
  readonly overlap_wish_m: number;
  readonly tine_caution_deg: number;
  readonly tine_severe_deg: number;
}

/**
 * Seconds between the lever and what it causes. `drain_s` null means it was not measured: seed is
 * then taken to end with the lift. `first_starve_s` null means 0.7 of `drain_s`.
 */
export interface Times {
  readonly lower_s: number;
  readonly raise_s: number;
  readonly meter_s: number;
  readonly fill_s: number;
  readonly fill_spread_s: number;
  readonly drain_s: number | null;
  readonly first_starve_s: number | null;
}

/**
 * One rig card: all distances and times of one tractor, tool and phone place. `from_ms` is the time
 * from which this card holds; null means from the beginning.
 */
export interface Rig {
  readonly name: string;
  readonly kind: RigKind;
  readonly tool: Tool;
  readonly phone: PhonePlace;
  readonly axle_to_pin_m: number;
  readonly cart: Cart | null;
  readonly tightest_m: number | null;
  readonly times: Times;
  readonly from_ms: number | null;
  readonly notes: readonly string[];
  /** The phones that it holds for; none: for every phone that no card names. */
  readonly phones?: readonly string[];
}

/**
 * Ground that is not to be sown, in longitude/latitude. A seasonal one holds from `from_ms` to
 * `until_ms` (null: no limit on that side). `kind` `unreachable` marks ground the tool cannot get
 * to: counted apart, not as bare.
 */
export interface KeepOut {
  readonly kind: string;
  readonly area: Area;
  readonly name: string;
  readonly hazard: boolean;
  readonly from_ms: number | null;
  readonly until_ms: number | null;
}

/** Where one drives in and out, degrees; the name may be empty. */
export interface Gate {
  readonly lon_deg: number;
  readonly lat_deg: number;
  readonly name: string;
}

/**
 * A boundary with its keep-outs and gates, in longitude/latitude. `area` null means: take it from the driven
 * first lap. `boundary` tells whether the line came from a survey (or any file) or from a lap.
 */
export interface Paddock {
  readonly name: string;
  readonly area: Area | null;
  readonly keep_outs: readonly KeepOut[];
  readonly boundary: "survey" | "lap";
  readonly notes: readonly string[];
  readonly gates?: readonly Gate[];
}

/**
 * One stretch with the tool in the ground, seconds since the day's first fix. Between `on_s` and
 * `off_s` every opener seeds at full depth. `sure` false means the stretch is doubt, not sown. `outfit`
 * numbers the rigs at work.
 */
export interface Run {
  readonly number: number;
  readonly down_s: number;
  readonly up_s: number;
  readonly on_s: number;
  readonly off_s: number;
  readonly rig: number;
  readonly sure: boolean;
  readonly how: string;
  readonly outfit?: number;
}

/**
 * Where the tool went in one unbroken stretch of a run, settled: its middle between the ranks. `run` is
 * the run's number, `phone` the one that saw it; columns in seconds since the day's first fix, metres on
 * the paddock's plane, heading of the tool.
 */
export interface Way {
  readonly run: number;
  readonly phone: string;
  readonly width_m: number;
  readonly length_m: number;
  readonly t_s: Floats;
  readonly x_m: Floats;
  readonly y_m: Floats;
  readonly heading_rad: Floats;
}

/**
 * One bare patch: where, how large, what kind, how sure. `outline` is on the paddock's plane;
 * `lon_deg`, `lat_deg` a point inside it. By number, `runs` bound it and open questions `asks` may close it.
 */
export interface Patch {
  readonly number: number;
  readonly outline: Polygon;
  readonly area_m2: number;
  readonly width_m: number;
  readonly length_m: number;
  readonly kind: PatchKind;
  readonly chance: number;
  readonly call: Call;
  readonly lon_deg: number;
  readonly lat_deg: number;
  readonly runs: readonly number[];
  readonly asks?: readonly number[];
}

/**
 * Something the log cannot tell: asked later, answered by a log entry. `answers` maps each possible
 * answer to the ground it would call sown, m². `phones` are those of the rig it is about, where several
 * worked.
 */
export interface Question {
  readonly number: number;
  readonly kind: string;
  readonly from_ms: number;
  readonly to_ms: number;
  readonly lon_deg: number;
  readonly lat_deg: number;
  readonly answers: Readonly<Record<string, number>>;
  readonly phones?: readonly string[];
}

/** A phone whose clock ran ahead of that of another one in its cab, s (below nought: behind it). */
export interface Ahead {
  readonly phone: string;
  readonly other: string;
  readonly ahead_s: number;
}

/** Most neighbouring runs lie so far apart, but the card says another width, m. */
export interface Misfit {
  readonly apart_m: number;
  readonly width_m: number;
}

/** The states of the paddock's ground as areas on its plane. */
export interface Ground {
  readonly net: Area;
  readonly keep_out: Area;
  readonly sown: Area;
  readonly part: Area;
  readonly twice: Area;
  readonly bare: Area;
  readonly doubt: Area;
  readonly unreachable: Area;
  readonly outside: Area;
}

/** What one day came to. Areas in hectares, on the ellipsoid. */
export interface Tally {
  readonly net_ha: number;
  readonly keep_out_ha: number;
  readonly sown_ha: number;
  readonly part_ha: number;
  readonly bare_ha: number;
  readonly bare_low_ha: number;
  readonly bare_high_ha: number;
  readonly listed_ha: number;
  readonly twice_ha: number;
  readonly again_ha: number;
  readonly doubt_ha: number;
  readonly unreachable_ha: number;
  readonly outside_ha: number;
  readonly swept_ha: number;
  readonly down_km: number;
  readonly hours: number;
  readonly patches: readonly Patch[];
  readonly questions: readonly Question[];
  readonly runs: readonly Run[];
  readonly ground: Ground;
  readonly dropped: Readonly<Record<string, number>>;
  readonly settle: Readonly<Record<string, number>> | null;
  readonly ways: readonly Way[];
  /** The rigs at work; none where it was one. */
  readonly rigs: readonly Share[];
  readonly between: readonly Between[];
  readonly clocks: readonly Ahead[];
  /** Null: the card's width fits the runs. */
  readonly misfit: Misfit | null;
}

/**
 * What the caller may choose about a computation: where down and up come from, whether drift between
 * neighbouring runs is taken out, how many posterior draws and their seed, and a driven lap's
 * distance from the tool's outer end to the fence.
 */
export interface Settings {
  readonly runs: "marked" | "segments" | "guess";
  readonly settle: boolean;
  readonly draws: number;
  readonly seed: number;
  readonly clearance_m: number;
}

export const SETTINGS: Settings = {
  runs: "marked",
  settle: true,
  draws: 60,
  seed: 1,
  clearance_m: 0.5,
};
