// Seed and fertiliser on board: what is left, for how far, and where it ran out.
//
//     on board = last level + fills − rate × width × way with the meter turning / 10⁴
//
// The rate begins as calibrated and is corrected at every fill by what really went out. Everything left is
// told with its spread: from how well a level can be read, and how well the rate is known.
import { hypot } from "./columns";

/** How well a level in a bin is read, kg; how well a calibrated rate is known, and how much a fill may flow off it. */
export const LEVEL_KG = 40;
const RATE_PART = 0.05;
const FLOW_PART = 0.01;
/** A round is promised only when this many sigmas of the spread are left (nine times in ten). */
export const SURE_Z = 1.2816;
/** Where it ran out lies within this many sigmas nine times in ten. */
export const BAND_Z = 1.645;
/** Estimates of area that differ by more than this part ask for a check. */
const CHECK = 0.04;

/**
 * What a hectare gets, kg, and its standard error. `shared` is the covariance of its error with that of the
 * level that it was told by last: too full a bin makes the rate look too high, and holds more than is said.
 */
export interface Rate {
  readonly kg_ha: number;
  readonly sigma_kg_ha: number;
  readonly shared: number;
}

/** A rate as the tray test or the card gave it, before anything was sown. */
export const calibrated = (kg_ha: number, part = RATE_PART): Rate => ({ kg_ha, sigma_kg_ha: part * kg_ha, shared: 0 });

/**
 * The rate after so much went out on so much seeded ground, overlap included; the two levels between which
 * it went out are each read to `level_kg`. The sigma is that of the fill to come, which may flow a little off.
 */
export function after(rate: Rate, used_kg: number, seeded_ha: number, level_kg = LEVEL_KG): Rate {
  if (seeded_ha <= 0) return rate;
  const sigma = (Math.SQRT2 * level_kg) / seeded_ha;
  const [old, fresh] = [1 / rate.sigma_kg_ha ** 2, 1 / sigma ** 2];
  const kg_ha = (rate.kg_ha * old + (used_kg / seeded_ha) * fresh) / (old + fresh);
  const shared = ((fresh / (old + fresh)) * level_kg ** 2) / seeded_ha;
  return { kg_ha, sigma_kg_ha: hypot(1 / Math.sqrt(old + fresh), FLOW_PART * kg_ha), shared };
}

/**
 * What is left in a bin and how far it goes; `sigma` one standard deviation of each. `ha` is seeded ground:
 * what is sown twice takes seed twice.
 */
export interface Left {
  readonly kg: number;
  readonly kg_sigma: number;
  readonly ha: number;
  readonly ha_sigma: number;
}

/** What is left since a level was known: after a fill, or when the bin was looked into. */
export function left(level_kg: number, seeded_ha: number, { kg_ha, sigma_kg_ha, shared }: Rate, level_sigma_kg = LEVEL_KG): Left {
  const sigma = (over_ha: number): number =>
    Math.sqrt(level_sigma_kg ** 2 + (sigma_kg_ha * over_ha) ** 2 + 2 * over_ha * shared);
  const kg = level_kg - kg_ha * seeded_ha;
  const ha = kg / kg_ha;
  return {
    kg,
    kg_sigma: sigma(seeded_ha),
    ha,
    // of ground still to come the rate is not known either
    ha_sigma: sigma(seeded_ha + Math.max(ha, 0)) / kg_ha,
  };
}

/** Ground that it lasts for nine times in ten, ha. */
export const sureHa = ({ ha, ha_sigma }: Left): number => Math.max(ha - SURE_Z * ha_sigma, 0);

/** Whole rounds of a length that it lasts for nine times in ten. */
export const rounds = (of: Left, round_m: number, width_m: number): number =>
  Math.floor((sureHa(of) * 1e4) / width_m / round_m);

/** Where a bin ran empty behind the driver: seeded hectares since the level, and their band. */
export interface RanOut {
  readonly at_ha: number;
  readonly from_ha: number;
  readonly to_ha: number;
}

/** Where it ran out: ground seeded within the band is doubt, beyond `to_ha` it is bare. */
export function ranOut(level_kg: number, rate: Rate, level_sigma_kg = LEVEL_KG): RanOut {
  const { ha, ha_sigma } = left(level_kg, 0, rate, level_sigma_kg);
  return { at_ha: ha, from_ha: Math.max(ha - BAND_Z * ha_sigma, 0), to_ha: ha + BAND_Z * ha_sigma };
}

/** Largest disagreement of estimates of seeded ground (NaN: not known), and whether to check. */
export function threeWays(...areas: readonly number[]): readonly [number, boolean] {
  const known = areas.filter((area) => area > 0);
  if (known.length < 2) return [0, false];
  const apart = Math.max(...known) / Math.min(...known) - 1;
  return [apart, apart > CHECK];
}

/**
 * Whether what is on board lasts for runs still to be driven. `tight`: it should, but not nine times in ten;
 * `short`: it runs dry in run `at`, so far before its end.
 */
export interface Lasts {
  readonly metered_ha: number;
  readonly word: "enough" | "tight" | "short";
  readonly at: number;
  readonly before_end_m: number;
}

/** How far so many hectares go on runs of these lengths, in driving order. */
export function lasts({ ha, ha_sigma }: Pick<Left, "ha" | "ha_sigma">, runs_m: readonly number[], width_m: number): Lasts {
  const metered_ha = (runs_m.reduce((sum, run) => sum + run, 0) * width_m) / 1e4;
  const none = { metered_ha, at: -1, before_end_m: 0 };
  if (ha >= metered_ha) return { ...none, word: ha - SURE_Z * ha_sigma >= metered_ha ? "enough" : "tight" };
  let way = (Math.max(ha, 0) * 1e4) / width_m;
  for (let at = 0; at < runs_m.length; at++) {
    if (way < runs_m[at]) return { metered_ha, word: "short", at, before_end_m: runs_m[at] - way };
    way -= runs_m[at];
  }
  return { ...none, word: "tight" };
}
