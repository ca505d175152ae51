// Every page by its name. A page that is worth a tile on the first page says so here.
import { gatePage } from "./gate/page";
import { place } from "./route";
import { carryPage } from "./set/carry";
import { firstPage } from "./set/first";
import { phonePage } from "./set/phone";
import { startPage } from "./set/start";
import { t } from "./words";

export function makePlaces(): void {
  place("first", firstPage);
  place("start", startPage);
  place("gate", gatePage, { text: () => t.gate.title, under: () => t.gate.under, order: 20 });
  place("carry", carryPage, { text: () => t.start.carry, order: 80 });
  place("phone", phonePage, { text: () => t.start.phone, order: 90 });
}
