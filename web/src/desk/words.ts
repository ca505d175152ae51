// Every text of the desk pages stands in english/; for another language that folder is written anew.
import type { Land } from "./english/count";
import { keep } from "./english/keep";
import { look } from "./english/look";

export type { Land };

const words = (land: Land) => ({ ...look(land), ...keep(land) });

/** The texts in use; they follow the farm's word for its land. */
export let t = words("paddock");

export function speak(land: Land): void {
  t = words(land);
}
