// Planning figures, asked by the vectors.
import { type Crop, kgM3, weightT } from "../../../web/src/core/bulk";
import { atLoadLH, averageLH, litresHa } from "../../../web/src/core/fuel";
import { fishtail, turn, type Turn } from "../../../web/src/core/headland";
import { PRODUCTS, nutrientsKgHa, rateKgHa, twoProductsKgHa } from "../../../web/src/core/nutrient";

// oxlint-disable-next-line typescript/no-explicit-any
type Json = any;

const both = ({ length_m, depth_m }: Turn): number[] => [length_m, depth_m];
const ASKED: Readonly<Record<string, (...values: Json[]) => number[]>> = {
  year: (kw: number) => [averageLH(kw)],
  load: (kw: number, load: number) => [atLoadLH(kw, load)],
  hectare: (litres: number, pace: number) => [litresHa(litres, pace)],
  volume: (m3: number, crop: Crop) => [weightT(m3, crop)],
  bushel: (pounds: number) => [kgM3(pounds)],
  turn: (radius: number, spacing: number) => both(turn(radius, spacing)),
  fishtail: (radius: number, spacing: number) => both(fishtail(radius, spacing)),
  brings: (product: string, rate: number) => Object.values(nutrientsKgHa(PRODUCTS[product] ?? {}, rate)),
  rate: (need: number, percent: number) => [rateKgHa(need, percent)],
  "two products": (need: Json, first: string, by: string, second: string) => twoProductsKgHa(need, PRODUCTS[first] ?? {}, by, PRODUCTS[second] ?? {}),
};

export function planning(given: Json, want: Json, tolerance: Json): void {
  const got = ASKED[given.of]?.(...given.values) ?? [];
  expect(got).toHaveLength(want.numbers.length);
  got.forEach((value, i) => expect(Math.abs(value - want.numbers[i])).toBeLessThanOrEqual(tolerance.numbers));
}
