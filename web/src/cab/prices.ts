// What money is reckoned with: what was set on this phone, else the farm's own, else those of an invented farm,
// which are always told as such.
import { EXAMPLE, EXAMPLE_TRIP_MIN, type Prices } from "../core/price";
import { choices } from "./choices";
import { cab } from "./state";

export type Price = keyof Prices | "trip_min";
export const PRICES = [...(Object.keys(EXAMPLE) as (keyof Prices)[]), "trip_min"] as const satisfies readonly Price[];

export interface Costs {
  readonly prices: Prices;
  /** Folding, the road there and back, unfolding, minutes. */
  readonly trip_min: number;
  readonly currency: string;
  /** What nobody has set: an example stands in for it. */
  readonly examples: readonly Price[];
}

/** What the farm or this phone says of a price; null: nobody has set it. */
export function priceOf(name: Price): number | null {
  const mine = choices.get().prices[name];
  if (mine !== undefined) return mine;
  const farm = cab.get().pack?.settings;
  const said = name === "trip_min" ? farm?.trip_min : farm?.prices[name];
  return typeof said === "number" ? said : null;
}

export function costs(): Costs {
  const prices: Record<string, number> = {};
  for (const name of Object.keys(EXAMPLE) as (keyof Prices)[]) prices[name] = priceOf(name) ?? EXAMPLE[name];
  return {
    prices: prices as unknown as Prices,
    trip_min: priceOf("trip_min") ?? EXAMPLE_TRIP_MIN,
    currency: cab.get().pack?.settings.currency ?? "",
    examples: PRICES.filter((name) => priceOf(name) === null),
  };
}

/** What a hectare was set to get, by product; what nobody has set is missing. */
export function ratesSet(): Record<string, number> {
  const out: Record<string, number> = {};
  for (const [product, name] of [["seed", "seed_kg_ha"], ["fertiliser", "fert_kg_ha"], ["fuel", "fuel_l_ha"]] as const) {
    const set = priceOf(name);
    if (set !== null && set > 0) out[product] = set;
  }
  return out;
}

/** `C$ 11`, to whole ones: nothing of it is known finer. */
export function money(value: number): string {
  const { currency } = costs();
  return `${currency === "" ? "" : `${currency}\u00a0`}${Math.round(value).toLocaleString("en").replace("-", "−")}`;
}
