// Every text of the desk pages stands in english/; for another language that folder is written anew.
import type { Land } from "./english/count";
import { keep } from "./english/keep";
import { look } from "./english/look";
import { money } from "./english/money";
import { planning } from "./english/planning";

export type { Land };

function words(land: Land) {
  const { season, ...kept } = keep(land);
  const { season: again, ...told } = money(land);
  return { ...look(land), ...kept, ...told, planning, season: { ...season, ...again } };
}

/** The texts in use; they follow the farm's word for its land. */
export let t = words("paddock");

export function speak(land: Land): void {
  t = words(land);
}
