// Every text of the phone's page stands in english/; for another language that folder is written anew.
import { gate } from "./english/gate";
import { more } from "./english/more";
import { over } from "./english/over";
import { phone } from "./english/phone";
import { rates } from "./english/rates";
import { slip } from "./english/slip";
import { stand } from "./english/stand";
import { stock } from "./english/stock";
import { work } from "./english/work";
import { worth } from "./english/worth";

export type Land = "paddock" | "field";

const words = (land: Land) => ({ ...phone(land), gate: gate(land), stand: stand(land), more: more(land), work: work(land), worth, over, slip, stock, rates });

/** The texts in use; they follow the farm's word for its land. */
export let t = words("paddock");

export function speak(land: Land): void {
  t = words(land);
}
