// What the phone writes down: entries, exactly as docs/reference/log.md has them.

/** Version of the log's format. */
export const VERSION = 1;

export type Lever = "down" | "up";
/** What moved the lever entry: the pad, a button taught to it, a cue taken, or an answer later. */
export type LeverHow = "pad" | "button" | "cue" | "afterwards";

/**
 * What happened to the phone itself. `start`: the page began; `hidden`, `shown`, `freeze`, `resume`,
 * `leave` (pagehide): what the browser did with it; `awake`, `sleepy`: the wake lock was given or is
 * gone; `clock`: the phone's clock was moved by `jump_ms`; `battery`; `keep`: writing failed or works
 * again; `source`: where positions come from, or that they stopped coming.
 */
export type PhoneEvent =
  | "start"
  | "hidden"
  | "shown"
  | "freeze"
  | "resume"
  | "leave"
  | "awake"
  | "sleepy"
  | "clock"
  | "battery"
  | "keep"
  | "source";

/** The fields of each kind, beside those that every entry has. Not known: left out. */
export interface Says {
  fix: {
    lat_deg: number;
    lon_deg: number;
    /** Accuracy radius, 95 %. */
    acc_m?: number;
    speed_m_s?: number;
    /** Clockwise from north. */
    course_deg?: number;
    segment?: number;
  };
  lever: { lever: Lever; how?: LeverHow; paddock?: string };
  flow: { flow: "on" | "off"; since_ms?: number; since_spread_ms?: number; paddock?: string };
  mark: { what: string; side?: "left" | "right" | "here"; distance_m?: number; lat_deg?: number; lon_deg?: number; note?: string; until_ms?: number; radius_m?: number; ring?: readonly (readonly [number, number])[]; paddock?: string };
  /** `left` was still in the bin before; `same_mark`: filled to where it stood after the fill before. */
  fill: { product: string; kg?: number; l?: number; left?: number; same_mark?: boolean; place?: string; driver?: string };
  peg: { name?: string; lat_deg: number; lon_deg: number; n?: number };
  stop: { reason?: string };
  /** `from_dev` and `from_seq`: the phone that it goes on from, and the last entry there. */
  shift: { driver?: string; shift: "start" | "end"; from_dev?: string; from_seq?: number };
  blind: { from_ms: number; to_ms: number; answer?: "down" | "up" | "unsure"; paddock?: string };
  rig: { card: string; version?: number };
  /**
   * `about` and the times say which question of the engine's it answers; a place, which bare patch, as it
   * was counted then.
   */
  say: {
    prompt?: string;
    answer?: string;
    about?: string;
    /** Which lever entry that was taken back. */
    of?: number;
    from_ms?: number;
    to_ms?: number;
    paddock?: string;
    lat_deg?: number;
    lon_deg?: number;
    area_m2?: number;
    chance?: number;
  };
  walk: { from_ms: number; to_ms: number };
  /** `about` `oops`: pressed on the working page; `edge_ms`: when seed would have ended or begun at the edge. */
  undo: { of: number; of_dev?: string; about?: string; edge_ms?: number };
  phone: {
    what: PhoneEvent;
    /** How far the phone's clock moved against its own steady one, ms; forwards is positive. */
    jump_ms?: number;
    /** How long the page was not running before this, ms. */
    gap_ms?: number;
    /** Charge of the battery, 0 to 1. */
    battery?: number;
    charging?: boolean;
    /** Version of the page that wrote it. */
    page?: string;
    note?: string;
  };
}

export type Kind = keyof Says;

/** What an entry says before it has a number: what a page hands over. */
export type Draft = { [K in Kind]: DraftOf<K> }[Kind];
export type DraftOf<K extends Kind> = {
  readonly kind: K;
  /** The moment it is about, UTC ms; of a fix the position's own time. */
  readonly t_ms: number;
  /** The phone's own clock when it was written down, UTC ms. */
  readonly clock_ms?: number;
} & Readonly<Says[K]>;

/** An entry of the log. `seq` counts from 1 without gaps in each writer's log. */
export type Entry = { [K in Kind]: EntryOf<K> }[Kind];
export type EntryOf<K extends Kind> = {
  readonly v: typeof VERSION;
  readonly dev: string;
  readonly seq: number;
} & DraftOf<K>;

/** The entry as its line of the log. */
export function line(entry: Entry): string {
  return `${JSON.stringify(entry)}\n`;
}
