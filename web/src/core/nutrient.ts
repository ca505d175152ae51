// Nutrients in fertiliser: of a product, between oxide and element, and of two products together. Percentages and
// factors: International Fertilizer Industry Association, conversion tables.

export type Percent = Readonly<Record<string, number>>;

/** Percent of N, P2O5, K2O and S in common products. */
export const PRODUCTS: Readonly<Record<string, Percent>> = {
  urea: { N: 46 },
  MAP: { N: 11, P2O5: 52 },
  DAP: { N: 18, P2O5: 46 },
  AS: { N: 21, S: 24 },
  TSP: { P2O5: 46 },
  SSP: { P2O5: 15, S: 12 },
};
/** Element in a kilogram of oxide. */
export const ELEMENT: Percent = { P2O5: 0.4364, K2O: 0.8302 };

/** What a rate of a product brings, kg/ha of each nutrient. */
export function nutrientsKgHa(percent: Percent, rate_kg_ha: number): Record<string, number> {
  const out: Record<string, number> = {};
  for (const name of Object.keys(percent)) out[name] = (rate_kg_ha * percent[name]) / 100;
  return out;
}

/** The rate of a product that brings so much of a nutrient, kg/ha. */
export const rateKgHa = (need_kg_ha: number, percent: number): number => need_kg_ha / (percent / 100);

/** Rates of two products, kg/ha: the first for the nutrient `by`, the second for the nitrogen still lacking. */
export function twoProductsKgHa(need: Percent, first: Percent, by: string, second: Percent): [number, number] {
  const one = rateKgHa(need[by], first[by]);
  const lacking = Math.max(need["N"] - (one * (first["N"] ?? 0)) / 100, 0);
  return [one, rateKgHa(lacking, second["N"])];
}
