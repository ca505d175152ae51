// What a volume of grain weighs: planning figures, ± 5 %. Of crops: a storage capacity factsheet (Australian;
// issuing agency not shown on the copy).

/** Tonnes a cubic metre. */
export const T_M3 = {
  wheat: 0.75,
  barley: 0.62,
  oats: 0.5,
  canola: 0.67,
  lupin: 0.75,
  pea: 0.75,
  "faba bean": 0.75,
  chickpea: 0.6,
  rye: 0.71,
  triticale: 0.69,
  flax: 0.73,
  safflower: 0.53,
} as const;
/** A US bushel, m³, and a pound, kg. */
const [BUSHEL_M3, LB_KG] = [0.03523907, 0.45359237];

export type Crop = keyof typeof T_M3;

/** What so many cubic metres of a crop weigh, t. */
export const weightT = (volume_m3: number, crop: Crop): number => volume_m3 * T_M3[crop];

/** A test weight in pounds a US bushel as kilograms a cubic metre. */
export const kgM3 = (pounds_a_bushel: number): number => (pounds_a_bushel * LB_KG) / BUSHEL_M3;
