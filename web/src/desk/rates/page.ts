// Rates by formula: a tray test, target plants, and what came up. Nothing is kept; each formula is shown.
import { fieldRate, plantsM2, plantsRate, survival, tray, trayArea } from "../../core/rate";
import { h } from "../dom";
import type { Page } from "../route";
import * as say from "../say";
import { t } from "../words";
import { above, catchesOf, known, line, sums } from "./formula";

export function ratesPage(): Page {
  return {
    title: t.rates.title,
    body: h("div", { class: "page" }, h("h1", {}, t.rates.title), h("p", {}, t.rates.what), h("p", { class: "caution-line" }, t.rates.caution), h("div", { class: "halves" }, [traySums(), targetSums(), countSums()])),
  };
}

function traySums(): HTMLElement {
  const fields: [string, string, string?][] = [["turns", t.rates.turns], ["wheel", t.rates.wheel, t.rates.wheelWhy], ["width", t.rates.caught], ["catches", t.rates.catches, t.rates.catchesWhy], ["fieldTurns", t.rates.fieldTurns], ["fieldWay", t.rates.fieldWay]];
  return sums(t.rates.tray, fields, (v) => {
    const [turns, wheel, width, catches] = [above(v["turns"]), above(v["wheel"]), above(v["width"]), catchesOf(v["catches"])];
    if (!known(turns, wheel, width) || catches.length === 0) return null;
    const area = trayArea(turns, wheel, width);
    const found = tray(catches, area);
    const [fieldTurns, fieldWay] = [above(v["fieldTurns"]), above(v["fieldWay"])];
    return [
      line(t.rates.trayIs(say.rate(found.rate_kg_ha, "kg"), `${area.toPrecision(3)} ha`), t.rates.trayHow),
      catches.length > 1 && h("span", {}, t.rates.cv(say.percent(found.cv)), " ", found.again && t.rates.again),
      known(fieldTurns, fieldWay) && line(`${t.rates.field}: ${say.rate(fieldRate(found.rate_kg_ha, fieldTurns, wheel, fieldWay), "kg")}`, t.rates.fieldHow),
    ];
  });
}

function targetSums(): HTMLElement {
  const fields: [string, string][] = [["plants", t.rates.plants], ["weight", t.rates.weight], ["germination", t.rates.germination], ["establishment", t.rates.establishment]];
  return sums(t.rates.target, fields, (v) => {
    const [plants, weight, germination, establishment] = [above(v["plants"]), above(v["weight"]), above(v["germination"]), above(v["establishment"])];
    if (!known(plants, weight, germination, establishment) || germination > 100 || establishment > 100) return null;
    return [line(say.rate(plantsRate(plants, weight, (germination / 100) * (establishment / 100)), "kg"), t.rates.targetHow)];
  });
}

function countSums(): HTMLElement {
  const fields: [string, string][] = [["counted", t.rates.counted], ["row", t.rates.row], ["spacing", t.rates.spacing], ["sown", t.rates.sownRate], ["seed", t.rates.weight]];
  return sums(t.rates.count, fields, (v) => {
    const [counted, row, spacing, sown, seed] = [above(v["counted"]), above(v["row"]), above(v["spacing"]), above(v["sown"]), above(v["seed"])];
    if (!known(counted, row, spacing)) return null;
    const plants = plantsM2(counted, row, spacing);
    return [line(t.rates.countIs(plants.toFixed(0)), t.rates.countHow), known(sown, seed) && line(t.rates.up(say.percent(survival(plants, sown, seed))), t.rates.upHow)];
  });
}
