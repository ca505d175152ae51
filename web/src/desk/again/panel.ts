// Sown again: the headline with its band, the causes as a picture, and what that cost.
import { h, type Child } from "../dom";
import { ribbon } from "../ink";
import { to } from "../route";
import * as say from "../say";
import type { Waste } from "../upshot";
import { t } from "../words";

/** Less than this is not worth a row, ha. */
const LEAST_HA = 0.005;
/** None is told finer than this, ha. */
const FINEST_HA = 0.01;
const USED = new Set(["seed_kg_ha", "seed_price_kg", "fert_kg_ha", "fert_price_kg", "fuel_l_ha", "fuel_price_l", "tractor_h"]);

export function againPanel(waste: Waste | null | undefined, title: string, more: Child = null): HTMLElement {
  if (!waste) return h("section", { class: "again" }, h("h2", {}, title), h("p", {}, t.again.nothing));
  const { again } = waste.cost;
  return h(
    "section",
    { class: "again" },
    h("h2", {}, title),
    h(
      "dl",
      { class: "spent" },
      h("div", { class: "tally-cell" }, h("dt", {}, t.again.title), h("dd", {}, h("span", { class: "big" }, say.area(waste.again_ha)), h("span", { class: "under" }, t.again.band(say.band(waste.low_ha, waste.high_ha)), waste.share !== undefined && `, ${t.again.share(say.percent(waste.share))}`))),
      h("div", { class: "tally-cell" }, h("dt", {}, t.again.cost), h("dd", {}, h("span", { class: "big" }, say.money(again.money, waste.currency)), h("span", { class: "under" }, t.again.spent(say.amount(again.seed_kg, "kg"), say.amount(again.fert_kg, "kg"), say.amount(again.fuel_l, "l"), say.duration(Math.max(Math.round(again.hours * 60), 1) * 60_000))))),
    ),
    h("p", { class: "under" }, t.again.how),
    causes(waste),
    h("p", { class: "under" }, t.again.unexplainedWhy),
    waste.wished_ha >= LEAST_HA && h("p", {}, t.again.own(say.area(waste.wished_ha), say.money(waste.cost.wished.money, waste.currency))),
    !waste.finished && h("p", {}, t.again.unfinished),
    borrowed(waste.examples.filter((name) => USED.has(name)).length),
    more,
  );
}

/** Says that an invented farm's figures stand in, and where to set one's own. */
export function borrowed(count: number): Child {
  return count > 0 && h("p", {}, t.worth.examples(count), " ", h("a", { href: to.prices }, t.prices.open));
}

function causes(waste: Waste): HTMLElement {
  const rows = Object.entries(waste.causes).filter(([, ha]) => ha >= LEAST_HA).toSorted(([, a], [, b]) => b - a);
  const most = Math.max(LEAST_HA, Math.abs(waste.unexplained_ha), ...rows.map(([, ha]) => ha));
  const bar = (own: number, rest: number, doubt: number): HTMLElement => ribbon([["sown", own / most], ["twice", rest / most], ["doubt", doubt / most]], 220, 18);
  const row = (name: Child, ha: number, off: number | undefined, money: number, picture: HTMLElement): HTMLElement =>
    h("tr", {}, h("th", { scope: "row" }, name), h("td", { class: "bar" }, picture), h("td", {}, say.change(ha).replace("+", ""), off !== undefined && h("div", { class: "under" }, `±\u00a0${say.area(Math.max(off, FINEST_HA))}`)), h("td", {}, say.money(money, waste.currency)));
  return h(
    "div",
    { class: "wide" },
    h(
      "table",
      { class: "numbers causes" },
      h(
        "tbody",
        {},
        rows.map(([name, ha]) => {
          const own = name === "between runs" ? Math.min(waste.wished_ha, ha) : 0;
          return row(t.again.causes[name] ?? name, ha, waste.spread_ha?.[name], waste.cause_cost[name]?.money ?? 0, bar(own, ha - own, 0));
        }),
        row(t.again.unexplained, waste.unexplained_ha, undefined, waste.cost.unexplained.money, bar(0, 0, Math.max(waste.unexplained_ha, 0))),
      ),
    ),
  );
}
