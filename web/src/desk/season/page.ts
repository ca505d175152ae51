// A season as a whole: what is held of it, and removing it for good, with what that means.
import * as home from "../home";
import { againPanel } from "../again/panel";
import { confirm } from "../confirm";
import { button, h, type Child } from "../dom";
import { notice } from "../notice";
import type { Season } from "../nouns";
import { go, to, type Page, type Params } from "../route";
import * as say from "../say";
import { desk } from "../state";
import { noteReach, reasonAndHint, show } from "../trouble";
import type { Order } from "../upshot";
import { t } from "../words";

export function seasonPage({ year = "" }: Params): Page {
  const inside = h("div", {});
  const which = Number(year);
  void show(inside, () => home.season(which), (season) => whole(season));
  return { title: t.season.title(year), body: h("div", { class: "page narrow" }, h("h1", {}, t.season.title(year)), inside) };
}

function whole(season: Season): Child[] {
  if (!season.entries) return [h("p", {}, t.season.empty), h("p", {}, h("a", { class: "button first", href: to.board }, t.missing.back))];
  return [
    h("ul", { class: "lines" }, h("li", {}, t.season.days(season.days.length, season.phones.length)), h("li", {}, t.season.entries(say.count(season.entries), say.count(season.fixes))), h("li", {}, t.season.ground(season.paddocks, say.area(season.sown_ha), say.area(season.bare_ha), say.area(season.twice_ha)))),
    season.waste && againPanel(season.waste, t.season.again, h("p", { class: "under" }, t.season.bandWhy)),
    season.order && order(season.order),
    h("section", { class: "panel" }, h("h2", {}, t.season.forget), h("ul", {}, t.season.means.map((line) => h("li", {}, line))), h("p", { class: "row" }, h("a", { class: "button first", href: home.carryOut("log.jsonl", { season: season.season }), download: `log-${season.season}.jsonl` }, t.season.keepCopy), button(t.season.forgetAct(season.season), () => void forget(season)))),
  ];
}

/** What to buy for next season: net ground, and the farm's own part sown again on top. */
function order({ net_ha, share, seeded_ha, needs, unknown }: Order): HTMLElement {
  return h(
    "section",
    { class: "panel" },
    h("h2", {}, t.season.order),
    h("p", {}, t.season.orderWhat(say.area(net_ha), say.percent(share), say.area(seeded_ha))),
    h("ul", { class: "lines" }, needs.map(({ product, unit, rate, amount }) => h("li", {}, t.season.need(say.amount(amount, unit), product, say.rate(rate, unit))))),
    unknown.length > 0 && h("p", {}, t.season.unknown(unknown.join(", ")), " ", h("a", { href: to.prices }, t.prices.open)),
  );
}

async function forget(season: Season): Promise<void> {
  const wanted = await confirm({
    title: t.season.sure(season.season),
    body: [h("p", {}, t.season.sureWhat(say.count(season.entries)))],
    act: t.season.forgetAct(season.season),
    typed: String(season.season),
  });
  if (!wanted) return;
  try {
    const { entries } = await home.forgetSeason(season.season);
    desk.set({ seasons: desk.get().seasons.filter((year) => year !== season.season) });
    notice(t.season.forgotten(season.season, say.count(entries)));
    go(to.board);
  } catch (error) {
    noteReach(error);
    notice(reasonAndHint(error));
  }
}
