// What a computed work comes to beside its ground: what the service tells of worth, waste, bins, handover.
import type { LonLat } from "./nouns";

export type Label = "worth it" | "ask first" | "your call" | "leave" | "look first";
export interface Cost {
  ha: number;
  seed_kg: number;
  fert_kg: number;
  fuel_l: number;
  hours: number;
  money: number;
}
/** What was sown again, in the farm's currency; `examples` names the prices that are an invented farm's. */
export interface Waste {
  again_ha: number;
  low_ha: number;
  high_ha: number;
  share?: number;
  wished_ha: number;
  unexplained_ha: number;
  causes: Record<string, number>;
  /** How far each may be off to either side, ha; works kept from before it was told have none. */
  spread_ha?: Record<string, number>;
  finished: boolean;
  cost: Record<"again" | "low" | "high" | "wished" | "unexplained", Cost>;
  cause_cost: Record<string, Cost>;
  currency: string;
  examples: string[];
}

export interface Group {
  patches: number[];
  label: Label;
  value: number;
  cost: number;
  net: number;
  seconds: number;
  left_m2: number;
  /** Numbers of the questions that its patches hang on; works kept from before it was told have none. */
  asks?: number[];
  runs: unknown[];
}
export interface Stop {
  group: number;
  run: { from_side: string; length_m: number; covers: Record<string, number>; line: LonLat[] };
}
export interface Way {
  net: number;
  seconds: number;
  blocked: boolean;
  worth_m2: number;
  /** What of the way is to be asked about first. */
  ask_m2?: number;
  groups: Group[];
  stops: Stop[];
  /** Places in `stops` that are told as one. */
  blocks: number[][];
  way: { tool_down: boolean; line: LonLat[] }[];
  /** Whether what is aboard lasts for it; `stop` counts blocks from 1. */
  lasting?: { product: string; word: "enough" | "tight" | "short"; metered_ha: number; aboard_ha: number; stop: number | null; before_end_m: number }[];
}
export interface Worth {
  trip_s: number;
  /** Whether the way ends at a gate of the paddock, else where the rig came in; works of before do not say. */
  gate_set?: boolean;
  gate_name?: string;
  currency: string;
  examples: string[];
  now: Way | null;
  later: (Way & { label: "worth the trip" | "leave" }) | null;
}

export interface Fill {
  t_ms: number;
  amount: number;
  left: number | null;
  same_mark: boolean;
  seeded_ha: number;
  before: number | null;
  used: number | null;
  rate: number | null;
  level: number;
  out: { from_ms: number; at_ms: number | null; to_ms: number | null } | null;
}
/** One product: its fills in order, and what is on board. `card` null: the farm set no rate. */
export interface Bin {
  product: string;
  unit: "kg" | "l";
  card: number | null;
  rate: number | null;
  rate_sigma: number | null;
  mean: number | null;
  mean_ha: number;
  round_m: number | null;
  as_of_ms: number;
  fills: Fill[];
  now: { kg: number; kg_sigma: number; ha: number; ha_sigma: number; ha_sure: number; minutes: number; minutes_sigma: number; rounds: number | null } | null;
}

/** Hours in the paddock by what was done, and what field efficiency was lost to. */
export interface Hours {
  sowing_h: number;
  turning_h: number;
  standing_h: number;
  filling_h: number;
  field_h: number;
  theoretical_ha_h: number;
  pace_ha_h: number;
  efficiency: number;
  lost: Record<"turning" | "filling" | "standing" | "overlap", number>;
  rest_ha: number;
  rest_h: number | null;
  /** Eight times in ten no further off than this; missing in what was computed before it was told. */
  rest_spread_h?: number | null;
}

export interface Handed {
  at_ms: number;
  /** Name and text of each of the eight lines, in the farm's units and by its clock. */
  lines: [string, string][];
  script: string;
  spoken: number;
}
export interface Order {
  net_ha: number;
  share: number;
  seeded_ha: number;
  needs: { product: string; unit: string; rate: number; amount: number }[];
  unknown: string[];
}

/** One of several rigs that worked in a paddock. */
export interface Share {
  name: string;
  phones: string[];
  sown_ha: number;
}
/** Where two of a tally's `rigs` met: the mean gap, and how well it is known. */
export interface Seam {
  rigs: [number, number];
  length_m: number;
  gap_m: number;
  sigma_m: number;
  chance: number;
}
