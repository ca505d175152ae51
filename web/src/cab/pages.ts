// Every page by its name. A page that is worth a tile on the first page says so here.
import { gatePage } from "./gate/page";
import { lapPage } from "./outs/lap";
import { outsPage } from "./outs/page";
import { riderPage } from "./rider/page";
import { place } from "./route";
import { carryPage } from "./set/carry";
import { firstPage } from "./set/first";
import { phonePage } from "./set/phone";
import { pricesPage } from "./set/prices";
import { cautionsPage, settingsPage } from "./set/settings";
import { ratesPage } from "./set/rates";
import { startPage } from "./set/start";
import { fillPage } from "./stand/fill";
import { overPage } from "./over/page";
import { takePage } from "./over/take";
import { slipPage } from "./stand/slip";
import { standingPage } from "./stand/page";
import { pegPage } from "./stand/peg";
import { stopPage } from "./stand/stop";
import { ports } from "./receiver";
import { cab } from "./state";
import { trialPage } from "./trial/page";
import { driving } from "./work/driving";
import { sourcePage } from "./work/choose";
import { offPage } from "./work/off";
import { workPage } from "./work/page";
import { t } from "./words";

const logs = (): boolean => cab.get().part === "keeper";
const rides = (): boolean => !logs();

export function makePlaces(): void {
  place("first", firstPage);
  place("start", startPage);
  place("rider", riderPage, { text: () => t.more.rider.title, under: () => t.more.rider.under, order: 5, open: rides });
  place("work", workPage, { text: () => t.work.title, under: () => t.work.under, order: 10, open: logs });
  place("source", sourcePage, { text: () => t.work.source.title, order: 87, open: () => logs() && ports() !== null });
  place("off", offPage, { text: () => t.work.stop.title, under: () => t.work.stop.under, order: 45, open: () => driving.get().on });
  place("standing", standingPage, { text: () => t.stand.title, under: () => t.stand.under, order: 20, open: logs });
  place("gate", gatePage, { text: () => t.gate.title, under: () => t.gate.under, order: 30 });
  place("slip", slipPage, { text: () => t.slip.title, under: () => t.slip.under, order: 32 });
  place("fill", fillPage);
  place("stop", stopPage);
  place("peg", pegPage);
  place("over", overPage);
  place("take", takePage, { text: () => t.over.take.title, under: () => t.over.take.under, order: 25, open: () => cab.get().part !== "rider" });
  place("outs", outsPage);
  place("lap", lapPage);
  place("trial", trialPage, { text: () => t.stand.trial.title, under: () => t.stand.trial.under, order: 50, open: logs });
  place("settings", settingsPage, { text: () => t.more.settings.title, order: 85 });
  place("rates", ratesPage, { text: () => t.rates.title, under: () => t.rates.under, order: 52, open: logs });
  place("prices", pricesPage, { text: () => t.worth.prices.title, under: () => t.worth.prices.under, order: 84, open: logs });
  place("cautions", cautionsPage);
  place("carry", carryPage, { text: () => t.start.carry, order: 80 });
  place("phone", phonePage, { text: () => t.start.phone, order: 90 });
}
