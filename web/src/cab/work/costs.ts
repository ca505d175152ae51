// How much too long an end should be wished, by the farm's own prices (server/unsown/core/price.py).
import { margin } from "../../core/cue";
import { bareHa, capacityHaPerH, EXAMPLE, type Prices, twiceHa } from "../../core/price";
import type { Rig } from "../../core/words";

/** Where the prices are not all known neither error is taken for the dearer one, m. */
export const EVEN_M = 0.5;

/** The margin, m, at a working speed and a spread of the place where the lever is moved. */
export function marginOf(prices: Readonly<Record<string, number | null>> | null, rig: Rig, speed_m_s: number, spread_m: number): number {
  if (prices === null || Object.keys(EXAMPLE).some((name) => typeof prices[name] !== "number")) return EVEN_M;
  const known = prices as unknown as Prices;
  const [bare, twice] = [bareHa(known), twiceHa(known, capacityHaPerH(speed_m_s, rig.tool.width_m))];
  return bare > 0 && twice > 0 ? margin(bare, twice, spread_m) : EVEN_M;
}
