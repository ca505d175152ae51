// The day slip: what was sown on one day, paddock by paddock; and the list of days.
import * as home from "../home";
import { againPanel } from "../again/panel";
import { h, type Child } from "../dom";
import type { Slip, SlipPaddock } from "../nouns";
import { outline } from "../outline";
import { to, type Page, type Params } from "../route";
import * as say from "../say";
import { desk } from "../state";
import { show } from "../trouble";
import { t } from "../words";
import { fillsBox } from "./fills";

export function daysPage(): Page {
  const inside = h("div", {});
  const ask = async (): Promise<{ season: number; days: string[] }> => {
    const { season } = desk.get();
    return { season, days: (await home.season(season)).days.toSorted().toReversed() };
  };
  void show(inside, ask, ({ season, days }) => {
    const [last, ...others] = days;
    if (!last) return h("section", { class: "panel lead" }, h("p", {}, t.day.none), h("p", {}, h("a", { class: "button first", href: to.carry }, t.carry.in)));
    return [
      h("section", { class: "panel lead" }, h("p", {}, t.day.last(say.day(last))), h("p", {}, h("a", { class: "button first", href: to.day(last) }, t.day.open))),
      others.length > 0 && [h("h2", {}, t.day.earlier(season)), h("ul", { class: "rows" }, others.map((day) => h("li", { class: "line" }, h("a", { href: to.day(day) }, say.day(day)))))],
    ].flat();
  });
  return { title: t.pages.days, body: h("div", { class: "page narrow" }, h("h1", {}, t.pages.days), inside) };
}

export function dayPage({ day = "" }: Params): Page {
  const inside = h("div", {});
  const fine = /^\d{4}-\d{2}-\d{2}$/.test(day) && !Number.isNaN(Date.parse(day));
  const title = fine ? say.day(day) : t.missing.title;
  const read = (): Promise<void> => show(inside, () => home.slip(day), (slip) => whole(slip, day, () => void read()));
  if (fine) void read();
  return {
    title,
    body: h("div", { class: "page" }, h("h1", {}, title), fine ? inside : h("p", {}, t.missing.body), h("p", {}, h("a", { href: to.days }, t.day.all))),
  };
}

function whole(slip: Slip, day: string, again: () => void): Child[] {
  if (!slip.paddocks.length) return [h("section", { class: "panel lead" }, h("p", {}, t.day.empty))];
  const known = slip.paddocks.map((p) => p.today);
  const sum = (key: "sown_ha" | "twice_ha" | "down_km"): number => known.reduce((all, one) => all + (one[key] ?? 0), 0);
  const questions = known.reduce((all, one) => all + one.questions, 0);
  return [
    h(
      "dl",
      { class: "tally" },
      ([
        [t.ground.sown, say.area(sum("sown_ha"))],
        [t.ground.twice, say.area(sum("twice_ha"))],
        [t.day.way, say.road(sum("down_km"))],
      ] as [string, string][]).map(([name, value]) => h("div", { class: "tally-cell" }, h("dt", {}, name), h("dd", {}, h("span", { class: "big" }, value)))),
    ),
    h("section", { class: "lead" }, h("p", {}, questions ? t.day.questions(questions) : t.day.ready), h("a", { class: "button first", href: `/slip/${day}`, target: "_blank", rel: "noopener" }, t.day.print)),
    h("ul", { class: "cards" }, slip.paddocks.map(card)),
    slip.paddocks.map((one) => one.waste && againPanel(one.waste, slip.paddocks.length > 1 ? `${t.again.title}: ${one.name}` : t.again.title)),
    fillsBox(day, slip.paddocks, again),
  ].flat();
}

function card(paddock: SlipPaddock): HTMLElement {
  const { today, tally } = paddock;
  const lines = [
    today.sown_ha === null ? t.day.notComputed : t.day.sown(say.area(today.sown_ha), say.area(today.twice_ha)),
    today.from_ms !== null && today.to_ms !== null && t.day.from(say.minute(today.from_ms), say.minute(today.to_ms), today.hours === null ? "" : say.duration(today.hours * 3.6e6)),
    tally && tally.bare_ha >= 0.005 && t.board.bare(say.area(tally.bare_ha), say.band(tally.bare_low_ha, tally.bare_high_ha)),
    filled(today.fills),
    today.questions > 0 && t.board.questions(today.questions),
    paddock.reason?.message,
  ];
  return h(
    "li",
    { class: "card" },
    h("div", { class: "card-shape" }, outline(paddock.geojson)),
    h("div", { class: "card-words" }, h("h2", {}, h("a", { href: to.paddock(paddock.id, paddock.season) }, paddock.name)), h("div", { class: "facts" }, lines.filter(Boolean).map((line) => h("p", {}, line)))),
  );
}

/** What was filled that day, by product: kilograms, or litres of fuel. */
function filled(fills: SlipPaddock["today"]["fills"]): string | false {
  const sums = new Map<string, number>();
  for (const { product, kg, l } of fills) {
    const amount = kg ?? l;
    if (!product || amount === null) continue;
    const name = `${kg === null ? "L" : "kg"} ${product}`;
    sums.set(name, (sums.get(name) ?? 0) + amount);
  }
  return sums.size > 0 && t.day.filled([...sums].map(([name, sum]) => `${say.count(Math.round(sum))} ${name}`).join(", "));
}
