// Ground that home knew to be sown when the farm pack was fetched, by phones whose log is not on this one: a count
// from the log alone lists it as bare, and has to say so.
import type { PackPaddock } from "../../carry/pack";

/** What the runs of other phones than these came to, ha; ground sown twice counts twice. */
export function unseenHa({ ground }: Pick<PackPaddock, "ground">, phones: readonly string[]): number {
  let sum = 0;
  for (const { properties } of ground?.features ?? []) {
    const { state, phone, length_m, width_m } = properties;
    if (state === "run" && phones.indexOf(String(phone)) < 0) sum += (Number(length_m) * Number(width_m)) / 1e4;
  }
  return sum;
}
