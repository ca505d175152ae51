// Rates: from target plants, from a tray test, from a row; and what came up. Every number that goes in is
// above nought.
import { mean } from "./columns";
import { UnsownError } from "./errors";

/** Catches that differ by more than this ask for another one. */
const AGAIN_CV = 0.05;

/** A tray test: rate of all catches, kg/ha, and how much they differ (coefficient of variation). */
export interface Tray {
  readonly rate_kg_ha: number;
  readonly cv: number;
  /** They differ by too much to be trusted. */
  readonly again: boolean;
}

/**
 * Seed for so many plants: plants/m² × weight of 1000 seeds, g ÷ part that survives ÷ 100; `survival` is
 * establishment × germination, 0 to 1. S. Chant, Saskatchewan Agriculture, 2014.
 */
export function plantsRate(plants_m2: number, seed_g_per_1000: number, survival_: number): number {
  above({ plants_m2, seed_g_per_1000, survival: survival_ });
  return (plants_m2 * seed_g_per_1000) / survival_ / 100;
}

/** Seed for so many plants from the number of seeds in a kilogram. */
export function seedsRate(plants_m2: number, seeds_per_kg: number, survival_: number): number {
  above({ plants_m2, seeds_per_kg, survival: survival_ });
  return (plants_m2 * 1e4) / seeds_per_kg / survival_;
}

/** Ground that so many turns of the drive wheel stand for, ha; width of the outlets caught. */
export function trayArea(turns: number, wheel_m: number, width_m: number): number {
  above({ turns, wheel_m, width_m });
  return (turns * wheel_m * width_m) / 1e4;
}

/** Rate and spread of several catches on the same ground; at least one. */
export function tray(catches_kg: readonly number[], area_ha: number): Tray {
  if (catches_kg.length === 0) throw new UnsownError("tray-none", "expected at least one catch in kg, none came");
  above({ area_ha });
  catches_kg.forEach((kg, k) => above({ [`catch ${k + 1}`]: kg }));
  const middle = mean(catches_kg);
  const square = catches_kg.reduce((sum, kg) => sum + (kg - middle) ** 2, 0);
  const cv = catches_kg.length > 1 ? Math.sqrt(square / (catches_kg.length - 1)) / middle : 0;
  return { rate_kg_ha: middle / area_ha, cv, again: cv > AGAIN_CV };
}

/** The tray's rate as it comes out in the field: the wheel turned `turns` times over `driven_m`. */
export function fieldRate(tray_kg_ha: number, turns: number, wheel_m: number, driven_m = 100): number {
  above({ tray_kg_ha, turns, wheel_m, driven_m });
  return (tray_kg_ha * turns * wheel_m) / driven_m;
}

/** Rate from what one opener put on a length of row (Grain SA, Grain Guide 2018). */
export function rowRate(grams: number, row_m: number, spacing_m: number): number {
  above({ grams, row_m, spacing_m });
  return (grams / row_m / spacing_m) * 10;
}

/** Plants on a square metre from a count along a length of row. */
export function plantsM2(plants: number, row_m: number, spacing_m: number): number {
  above({ row_m, spacing_m });
  return plants / row_m / spacing_m;
}

/** The part of the seed that came up, to be used next time. */
export function survival(plants_m2_up: number, rate_kg_ha: number, seed_g_per_1000: number): number {
  above({ rate_kg_ha, seed_g_per_1000 });
  return (plants_m2_up * seed_g_per_1000) / rate_kg_ha / 100;
}

function above(given: Readonly<Record<string, number>>): void {
  for (const name of Object.keys(given)) {
    if (!(given[name] > 0)) {
      throw new UnsownError("rate-input", `${name.replace(/_/g, " ")}: a number above 0 was expected, ${given[name]} came`);
    }
  }
}
