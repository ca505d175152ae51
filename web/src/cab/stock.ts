// What is on board by the fills of the log, and how far it goes.
import { LEVEL_KG, calibrated, rounds } from "../core/balance";
import { type Fill, type Ledger, type Seeded, ledger, meanOf } from "../core/ledger";
import type { Mark } from "../core/words";
import type { Bin } from "./sums";

/** In the order of the paper's columns. */
export const PRODUCTS = ["seed", "fertiliser", "fuel"] as const;
/** How well a tank of fuel is read, L. */
const TANK_L = 15;

export const unitOf = (product: string): "kg" | "l" => (product === "fuel" ? "l" : "kg");

/** A fill of the log with the product in small letters; null: none, or none with an amount. */
function fillOf({ kind, says, t_ms }: Mark, t0_ms: number): { readonly product: string; readonly fill: Fill } | null {
  if (kind !== "fill" || typeof says["product"] !== "string") return null;
  const product = says["product"].trim().toLowerCase();
  const { left, same_mark, [unitOf(product)]: amount } = says;
  if (product === "" || typeof amount !== "number") return null;
  return { product, fill: { t_s: (t_ms - t0_ms) / 1000, amount, left: typeof left === "number" ? left : null, same_mark: same_mark === true } };
}

/** What a hectare was set to get is `rates`, by product; `t0_ms` is when the seeded ground's seconds began. */
export interface Stocked {
  readonly marks: readonly Mark[];
  readonly seeded: Seeded;
  readonly round_m: number | null;
  readonly width_m: number;
  readonly rates: Readonly<Record<string, number>>;
  readonly t0_ms: number;
  readonly until_ms: number;
}

/** Each product that was filled. */
export function binsOf({ marks, seeded, round_m, width_m, rates, t0_ms, until_ms }: Stocked): Bin[] {
  const fills = new Map<string, Fill[]>();
  for (const mark of marks) {
    const made = fillOf(mark, t0_ms);
    if (made !== null) fills.set(made.product, [...(fills.get(made.product) ?? []), made.fill]);
  }
  const known: readonly string[] = PRODUCTS;
  const place = (product: string): number => (known.indexOf(product) < 0 ? known.length : known.indexOf(product));
  const products = Array.from(fills.keys()).sort((a, b) => place(a) - place(b) || (a < b ? -1 : 1));
  return products.map((product): Bin => {
    const rate = rates[product];
    const kept = ledger(fills.get(product) ?? [], seeded, rate === undefined ? null : calibrated(rate), (until_ms - t0_ms) / 1000, product === "fuel" ? TANK_L : LEVEL_KG);
    return binOf(product, kept, round_m, width_m, t0_ms);
  });
}

function binOf(product: string, kept: Ledger, round_m: number | null, width_m: number, t0_ms: number): Bin {
  const { now, rows, rate } = kept;
  return {
    product,
    unit: unitOf(product),
    left: now,
    rate: rate?.kg_ha ?? null,
    mean: meanOf(kept),
    rounds: now === null || round_m === null ? null : rounds(now, round_m, width_m),
    rows,
    t0_ms,
  };
}
