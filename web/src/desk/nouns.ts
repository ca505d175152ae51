// What the home service answers with (docs/reference: the API). Areas are hectares unless the name
// says m²; times are UTC milliseconds; positions are [longitude, latitude] in degrees, WGS84.
import type { AreaUnit } from "../formats/units";
import type { Bin, Handed, Hours, Order, Seam, Share, Waste, Worth } from "./upshot";
import type { Land } from "./words";

export type LonLat = [number, number];
export interface Geometry {
  type: string;
  coordinates: unknown;
}
export interface Feature {
  type: "Feature";
  geometry: Geometry | null;
  properties: Record<string, unknown>;
}
export interface Collection {
  type: "FeatureCollection";
  features: Feature[];
}

export interface Hello {
  unsown: number;
  version: string;
  engine: string;
  who: "desk" | "keeper" | "rider" | "nobody";
  passphrase: boolean;
  yard: boolean;
  farm: string | null;
}

export interface Settings {
  version: number;
  farm: string | null;
  units: AreaUnit;
  land: Land;
  zone: string;
  day_start: string;
  currency: string;
  prices: Record<string, number | null>;
  /** Folding, the road there and back, unfolding, minutes. */
  trip_min: number | null;
  /** What stands in for what the farm has not set. */
  example: { prices: Record<string, number>; trip_min: number };
}

export type PaddockState = "not begun" | "part" | "sown" | "loose ends" | "computing" | "failed";
export interface BoardPaddock {
  id: string;
  name: string;
  net_ha: number;
  state: PaddockState;
  sown_ha: number | null;
  bare_ha: number | null;
  bare_low_ha: number | null;
  bare_high_ha: number | null;
  doubt_ha: number | null;
  loose_ends: number;
  questions: number;
  last_day: string | null;
}
export interface Phone {
  dev: string;
  name: string;
  may: "keeper" | "rider";
  paired_ms?: number | null;
  seen_ms?: number | null;
  withdrawn_ms?: number | null;
  held?: number;
  odd_clock?: number;
}
/** An entry that came under a number already used, beside the one that is held there. */
export interface Dispute {
  dev: string;
  seq: number;
  held: string | null;
  came: string;
  received_ms: number;
}
export interface Yard {
  address: string | null;
  trust: string | null;
  qr: string | null;
  fingerprint: string | null;
  notices: { code: string; message: string; hint: string }[];
}
export interface Board {
  season: number;
  seasons: number[];
  paddocks: BoardPaddock[];
  phones: Phone[];
  unplaced: { fixes: number; days: string[] };
  /** Two phones that both kept one log after a handover. */
  rivals?: Rivals[];
}
export interface Rivals {
  earlier: string;
  later: string;
  since_ms: number;
  until_ms: number;
}

export interface Patch {
  number: number;
  area_m2: number;
  chance: number;
  call: "sure" | "likely" | "can't tell";
  kind: string;
  lon: number;
  lat: number;
  width_m: number;
  length_m: number;
}
export interface Question {
  number: number;
  kind: string;
  from_ms: number;
  to_ms: number;
  lon: number;
  lat: number;
  text: string;
  /** Whose rig it is about where several worked at once; else empty. */
  phone?: string;
  answers: Record<string, number | null>;
}
export interface Tally {
  paddock: { name: string; net_ha: number; keep_out_ha: number };
  sown_ha: number;
  part_ha: number;
  bare_ha: number;
  bare_low_ha: number;
  bare_high_ha: number;
  listed_ha: number;
  twice_ha: number;
  doubt_ha: number;
  unreachable_ha: number;
  outside_ha: number;
  swept_ha: number;
  down_km: number;
  hours: number;
  patches: Patch[];
  questions: Question[];
  notes: string[];
  dropped: Record<string, number>;
  rigs?: Share[];
  between?: Seam[];
}
export interface Run {
  number: number;
  down_ms: number;
  up_ms: number;
  how: string;
  sure: boolean;
  phone: string | null;
  length_m: number | null;
  width_m: number | null;
}
export interface Work {
  state: "ready" | "computing" | "failed" | "none";
  stale: boolean;
  tally: Tally | null;
  runs: Run[];
  days: string[];
  area_check: { map_ha: number; distance_ha: number | null; product_ha: number | null } | null;
  part?: number | null;
  reason?: Reason | null;
  pegs?: Peg[];
  taken?: TakenBack[];
  waste?: Waste | null;
  worth?: Worth | null;
  bins?: Bin[] | null;
  hours?: Hours | null;
  handover?: Handed | null;
  /** Of several rigs the one whose bins, hours and handover these are. */
  rig?: string | null;
}
/** Why something could not be computed. */
export interface Reason {
  code?: string;
  message?: string;
  where?: string;
  hint?: string;
}
/** A press that Oops took back: the moments it may have been meant for, null: the lever stays as it is. */
export interface TakenBack {
  dev: string;
  seq: number;
  lever: "down" | "up";
  from_ms: number;
  to_ms: number;
  answers: Record<string, number | null>;
  again_seq: number | null;
}
/** One peg check: the mean position while the phone stood beside a known mark. */
export interface Peg {
  t_ms: number;
  dev: string;
  name?: string;
  lat_deg?: number;
  lon_deg?: number;
  n?: number;
}

export interface Lever {
  t_ms: number;
  lever: "down" | "up";
  how: string;
  dev: string;
  seq: number;
  hidden: boolean;
  /** Of an entry of the desk: the phone whose rig it is about. */
  of_dev?: string | null;
}
export interface Timeline {
  from_ms: number;
  to_ms: number;
  speed: [number, number | null][];
  lever: Lever[];
  questions: Question[];
  doubt: [number, number][];
  /** Stretches without a position. */
  gaps?: [number, number][];
  place: [number, number, number][];
  /** Where several rigs worked: the line of each by itself. */
  rigs?: RigLine[];
}
export interface RigLine extends Timeline {
  name: string;
  phones: string[];
}

export interface Areas {
  sown_ha: number;
  bare_ha: number;
  doubt_ha: number;
  twice_ha: number;
}
export interface Job {
  state: string;
  part: number | null;
  before: Areas | null;
  after: Areas | null;
  reason?: Reason | null;
}
export type Entry = { t_ms: number; kind: string } & Record<string, unknown>;

/** A paddock in a list: without its shape. */
export interface PaddockLine {
  id: string;
  name: string;
  version: number;
  net_ha: number;
  keep_out_ha: number;
  away?: boolean;
}
export interface PaddockThing extends PaddockLine {
  geojson: Collection;
  history?: Version[];
}
export interface Version {
  version: number;
  t_ms: number;
  why: string;
  name?: string;
}
export interface Saved {
  id?: string;
  version: number;
  notes: string[];
}
export type CardValue = string | number | null;
export type Card = Record<string, CardValue | Record<string, CardValue>>;
export interface RigThing {
  id: string;
  name: string;
  version: number;
  card: Card;
  notes?: string[];
  history?: Version[];
  away?: boolean;
}
export interface Brought {
  geojson: Collection;
  notes: string[];
  area_ha?: number;
  sigma_ha?: number | null;
}
export interface Pairing {
  code: string;
  url: string;
  until_ms: number;
  qr: string;
}
export interface Taken {
  name: string;
  kind: string;
  devs: string[];
  kept: number;
  again: number;
  days: string[];
  notes: string[];
}

export interface Slip {
  day: string;
  paddocks: SlipPaddock[];
}
export interface SlipPaddock {
  id: string;
  name: string;
  season: number;
  state: string;
  stale: boolean;
  reason: Reason | null;
  tally: Tally | null;
  waste: Waste | null;
  today: {
    sown_ha: number | null;
    twice_ha: number | null;
    swept_ha: number | null;
    down_km: number | null;
    hours: number | null;
    runs: number | null;
    from_ms: number | null;
    to_ms: number | null;
    phones: string[];
    fills: { t_ms: number; product: string | null; kg: number | null; l: number | null }[];
    questions: number;
  };
  geojson: Collection;
}
/** A column for fills on the back of the sheet, in its order from left to right. */
export interface FillColumn {
  name: string;
  head: string;
  unit: string;
  kind: "time" | "number" | "words";
}
export interface FillsKept {
  seq: number[];
  t_ms: number[];
}
export interface Season {
  season: number;
  entries: number;
  fixes: number;
  days: string[];
  phones: string[];
  paddocks: number;
  sown_ha: number;
  twice_ha: number;
  bare_ha: number;
  waste: Waste | null;
  order: Order | null;
}
