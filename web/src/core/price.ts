// What a hectare costs when it is left bare, and when it is sown twice (server/unsown/core/price.py).

/** Field efficiency of a sowing machine where none was measured: the usual planning figure. */
export const EFFICIENCY = 0.7;

/**
 * A farm's own figures, in its own currency: a hectare, a kilogram, a litre, an hour, a tonne. `tractor_h`
 * is tractor and driver without fuel.
 */
export interface Prices {
  readonly seed_kg_ha: number;
  readonly seed_price_kg: number;
  readonly fert_kg_ha: number;
  readonly fert_price_kg: number;
  readonly fuel_l_ha: number;
  readonly fuel_price_l: number;
  readonly tractor_h: number;
  readonly yield_t_ha: number;
  readonly grain_price_t: number;
  readonly weed_penalty_ha: number;
}

/**
 * An invented farm's, in its own currency: stands in for what a farm has not set, and is always told as an
 * example; and its folding, the road to the yard and back, and unfolding, minutes.
 */
export const EXAMPLE: Prices = {
  seed_kg_ha: 118,
  seed_price_kg: 0.46,
  fert_kg_ha: 105,
  fert_price_kg: 0.88,
  fuel_l_ha: 5.2,
  fuel_price_l: 1.35,
  tractor_h: 58,
  yield_t_ha: 2.4,
  grain_price_t: 330,
  weed_penalty_ha: 150,
};
export const EXAMPLE_TRIP_MIN = 56;

/** Seed and fertiliser on one hectare. */
export const seedAndFertiliser = (p: Prices): number =>
  p.seed_kg_ha * p.seed_price_kg + p.fert_kg_ha * p.fert_price_kg;

/** Lost by a hectare left bare: its crop and its weeds, less what was not spent on it. */
export const bareHa = (p: Prices): number =>
  p.yield_t_ha * p.grain_price_t - seedAndFertiliser(p) + p.weed_penalty_ha;

/** Spent on a hectare sown again at `ha_per_h` hectares an hour, stops included. */
export const twiceHa = (p: Prices, ha_per_h: number): number =>
  seedAndFertiliser(p) + p.fuel_l_ha * p.fuel_price_l + p.tractor_h / ha_per_h;

/** Effective field capacity, ha/h: width x speed x efficiency (ASABE EP496). */
export const capacityHaPerH = (speed_m_s: number, width_m: number, efficiency = EFFICIENCY): number =>
  (speed_m_s * 3600 * width_m * efficiency) / 1e4;
