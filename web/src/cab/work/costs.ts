// How much too long an end should be wished, by the farm's own prices (server/unsown/core/price.py).
import { margin } from "../../core/cue";
import type { Rig } from "../../core/words";

/** Where the prices are not all known neither error is taken for the dearer one, m. */
export const EVEN_M = 0.5;
/** Field efficiency of a sowing machine where none was measured. */
const EFFICIENCY = 0.7;
const NAMES = ["seed_kg_ha", "seed_price_kg", "fert_kg_ha", "fert_price_kg", "fuel_l_ha", "fuel_price_l", "tractor_h", "yield_t_ha", "grain_price_t", "weed_penalty_ha"] as const;
type Prices = Record<(typeof NAMES)[number], number>;

/** The margin, m, at a working speed and a spread of the place where the lever is moved. */
export function marginOf(prices: Readonly<Record<string, number | null>> | null, rig: Rig, speed_m_s: number, spread_m: number): number {
  if (prices === null || NAMES.some((name) => typeof prices[name] !== "number")) return EVEN_M;
  const p = prices as Prices;
  const goods = p.seed_kg_ha * p.seed_price_kg + p.fert_kg_ha * p.fert_price_kg;
  const bare = p.yield_t_ha * p.grain_price_t - goods + p.weed_penalty_ha;
  const hectares = (speed_m_s * 3600 * rig.tool.width_m * EFFICIENCY) / 1e4;
  const twice = goods + p.fuel_l_ha * p.fuel_price_l + p.tractor_h / hectares;
  return bare > 0 && twice > 0 ? margin(bare, twice, spread_m) : EVEN_M;
}
