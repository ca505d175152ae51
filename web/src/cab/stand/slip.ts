// The day slip: how much was sown again and why as a picture, what that cost, and when the paddock is done.
import { type Cause, CAUSES } from "../../core/causes";
import { twiceHa } from "../../core/price";
import { h, put, s, type Child } from "../dom";
import { costs, money } from "../prices";
import type { Page } from "../route";
import { area, band, dated } from "../say";
import { backButton } from "../shell";
import { cab } from "../state";
import type { Sums } from "../sums";
import { t } from "../words";
import { timeLines } from "./bins";
import { countHere } from "./count";
import { toStanding } from "./page";

/** Less than this is not worth a bar, and how far a bar may be off is told no finer than twice that, ha. */
const LEAST_HA = 0.005;

export function slipPage(): Page {
  const view = h("div", {});
  const close = countHere(view, (sums, again) => put(view, ...slip(sums), again));
  const body = h("div", { class: "page" }, h("h1", {}, t.slip.title), view, cab.get().part === "keeper" ? toStanding() : backButton());
  return { title: t.slip.title, body, close };
}

function slip(sums: Sums): Child[] {
  const { tally, again, paddock, until_ms } = sums;
  return [
    h("p", { id: "asof" }, paddock === null ? "" : `${paddock.name}. `, t.gate.asOf(dated(until_ms)), ` ${t.gate.sown(area(tally.sown_ha), area(tally.net_ha))}.`),
    h("h2", {}, t.slip.again),
    ...(again === null ? [h("p", {}, t.slip.nothing)] : againLines(again)),
    h("h2", {}, t.slip.time),
    ...timeLines(),
  ];
}

function againLines({ again_ha, low_ha, high_ha, share, causes, spread_ha, wished_ha, unexplained_ha, finished, ha_h }: NonNullable<Sums["again"]>): Child[] {
  const { prices, examples } = costs();
  const [said, likely] = t.slip.headline(area(again_ha), band(low_ha, high_ha), (100 * share).toFixed(1));
  const rows = CAUSES.filter((cause) => causes[cause] >= LEAST_HA).sort((a, b) => causes[b] - causes[a]);
  const most = rows.reduce((ha, cause) => Math.max(ha, causes[cause]), Math.max(Math.abs(unexplained_ha), LEAST_HA));
  const bar = (name: string, ha: number, off: string, own: number, kind: string): Child[] => {
    const part = (from: number, wide: number, cls: string): Child => (wide <= 0 ? null : s("rect", { x: `${(97 * from) / most + 1}%`, y: 3, width: `${(97 * wide) / most}%`, height: 20, class: cls }));
    return [h("p", {}, `${name} `, h("strong", {}, area(ha).replace("-", "−")), off), s("svg", { class: "bar", "aria-hidden": "true" }, part(0, own, "b-own"), part(own, Math.abs(ha) - own, kind))];
  };
  const ownOf = (cause: Cause): number => (cause === "between runs" ? Math.min(wished_ha, causes[cause]) : 0);
  return [
    h("p", { id: "again" }, h("strong", { class: "large" }, said), likely),
    h("p", { id: "cost" }, t.slip.cost(money(again_ha * twiceHa(prices, ha_h)), Math.round(again_ha * prices.seed_kg_ha), Math.round(again_ha * prices.fert_kg_ha), Math.round(again_ha * prices.fuel_l_ha), t.stock.time.hours(again_ha / ha_h))),
    examples.length === 0 ? null : h("p", {}, t.worth.examples),
    h("div", { class: "bars", id: "causes" }, ...rows.map((cause) => bar(t.slip.causes[cause], causes[cause], `\u00a0±\u00a0${area(Math.max(spread_ha[cause], 2 * LEAST_HA))}`, ownOf(cause), "b-again")), bar(t.slip.unexplained, unexplained_ha, "", 0, "b-rest")),
    wished_ha < LEAST_HA ? null : h("p", { id: "own" }, t.slip.own(area(wished_ha))),
    finished ? null : h("p", {}, t.slip.unfinished),
  ];
}
