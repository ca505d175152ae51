// Builders of what the engine is given, from the least that a test has to say.
import type { Rig, Times, Tool } from "../../../web/src/core/words";

const TOOL: Tool = {
  width_m: 8.4,
  openers: null,
  spacing_m: null,
  pin_to_axle_m: 0,
  front_rank_m: 0,
  rear_rank_m: 0,
  offset_left_m: 0,
  overlap_wish_m: 0,
  tine_caution_deg: 12,
  tine_severe_deg: 25,
};

const TIMES: Times = {
  lower_s: 0,
  raise_s: 0,
  meter_s: 0,
  fill_s: 0,
  fill_spread_s: 0,
  drain_s: null,
  first_starve_s: null,
};

/** A rig card as JSON says it: what is left out has the value the engine at home gives it. */
export type CardOf = Partial<Omit<Rig, "tool" | "times">> & {
  tool?: Partial<Tool>;
  times?: Partial<Times>;
};

export function rigOf(card: CardOf): Rig {
  return {
    name: "made",
    kind: "mounted",
    phone: { ahead_of_axle_m: 0, left_of_centre_m: 0 },
    axle_to_pin_m: 0,
    cart: null,
    tightest_m: null,
    from_ms: null,
    notes: [],
    ...card,
    tool: { ...TOOL, ...card.tool },
    times: { ...TIMES, ...card.times },
  };
}
