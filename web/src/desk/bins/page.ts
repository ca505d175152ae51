// Fills in order with the balance between them: what each hectare really got, what is left, where it ran out.
import * as home from "../home";
import { h, type Child } from "../dom";
import { hear } from "../live";
import { notice } from "../notice";
import type { Entry, PaddockThing, Work } from "../nouns";
import { to, type Page, type Params } from "../route";
import * as say from "../say";
import { desk } from "../state";
import { undoOf } from "../time/changes";
import { noteReach, reasonAndHint, show } from "../trouble";
import type { Bin, Fill } from "../upshot";
import { t } from "../words";
import { addFill } from "./add";
import { markOut } from "./out";

/** Keeps entries of the desk; the notice can take them back. */
export type Keep = (entries: Entry[], done: string) => Promise<void>;

export function binsPage({ id = "" }: Params): Page {
  const season = Number(new URLSearchParams(location.search).get("season")) || desk.get().season;
  const inside = h("div", { class: "bins" });
  const read = (): Promise<void> => show(inside, () => Promise.all([home.paddock(id), home.work(id, season)]), ([thing, work]) => whole(thing, work, season, keep));
  const keep: Keep = async (entries, done) => {
    try {
      const { seq } = await home.addEntries(entries);
      notice(done, () => void keep(undoOf(entries, seq, id), t.time.takenBack));
    } catch (error) {
      noteReach(error);
      notice(reasonAndHint(error));
    }
  };
  const end = hear({
    work: (event) => void (event.paddock === id && event.season === season && event.state !== "computing" && void read()),
    missed: () => void read(),
  });
  void read();
  return { title: t.bins.title, body: h("div", { class: "page" }, inside), close: end };
}

function whole(thing: PaddockThing, { bins, days, rig }: Work, season: number, keep: Keep): Child[] {
  const found = bins ?? [];
  return [
    h("h1", {}, t.bins.of(thing.name)),
    h("p", {}, h("a", { href: to.paddock(thing.id, season) }, t.handed.back)),
    rig && h("p", {}, t.bins.ofRig(rig)),
    ...(found.length > 0 ? found.map((bin) => section(bin, thing.id, keep)) : [h("section", { class: "panel lead" }, h("p", {}, t.bins.none))]),
    found.length > 0 && h("p", {}, t.bins.first, " ", t.bins.here),
    addFill(thing.id, days.at(-1) ?? "", keep),
  ];
}

function section(bin: Bin, paddock: string, keep: Keep): HTMLElement {
  const { product, unit, card, mean, mean_ha } = bin;
  const title = t.bins.product(product);
  return h(
    "section",
    { class: "bin" },
    h("h2", {}, `${title}, ${card === null ? t.bins.noCard : t.bins.card(say.rate(card, unit))}`),
    left(bin),
    h("p", {}, mean === null ? t.bins.realNone : `${t.bins.real(say.rate(mean, unit), say.area(mean_ha))}.`),
    h(
      "div",
      { class: "wide" },
      h(
        "table",
        { class: "numbers" },
        h("caption", { class: "spoken" }, title),
        h("thead", {}, h("tr", {}, [t.bins.when, t.bins.seeded, t.bins.before, t.bins.in, t.bins.rate, t.bins.level].map((name) => h("th", { scope: "col" }, name)))),
        h("tbody", {}, bin.fills.map((fill) => row(fill, unit))),
      ),
    ),
    bin.fills.map(({ out }) => out && markOut(out, bin, paddock, keep)),
  );
}

function left({ now, unit, round_m, as_of_ms }: Bin): HTMLElement {
  if (!now) return h("p", {}, `${t.bins.now}: ${t.bins.unknown}.`);
  const cell = (name: string, value: string, ...under: Child[]): HTMLElement => h("div", { class: "tally-cell" }, h("dt", {}, name), h("dd", {}, h("span", { class: "big" }, value), under.map((line) => line && h("span", { class: "under" }, line))));
  const rounds = now.rounds === null || round_m === null ? "" : `${t.bins.rounds(now.rounds)}, ${t.bins.roundsWhy(say.distance(round_m))}`;
  return h(
    "dl",
    { class: "tally" },
    cell(t.bins.now, say.amount(tens(Math.max(now.kg, 0)), unit), `± ${say.amount(tens(now.kg_sigma), unit)}. ${t.bins.asOf(say.moment(as_of_ms))}`),
    cell(t.bins.lasts, say.roughly(Math.max(now.ha, 0)), t.bins.sure(say.roughly(now.ha_sure)), rounds, t.bins.minutes(say.duration(60_000 * Math.max(Math.round(now.minutes), 1)), say.duration(60_000 * Math.max(Math.round(now.minutes_sigma), 1)))),
  );
}

/** To tens: a level is read no finer. */
const tens = (value: number): number => Math.round(value / 10) * 10;

function row(fill: Fill, unit: string): HTMLElement {
  const first = fill.seeded_ha === 0 && fill.before === fill.left;
  const before = fill.left !== null ? t.bins.looked(say.amount(fill.left, unit)) : fill.before === null ? "–" : fill.before < 5 ? t.bins.empty : t.bins.reckoned(say.amount(tens(fill.before), unit));
  return h(
    "tr",
    {},
    h("th", { scope: "row" }, say.moment(fill.t_ms)),
    h("td", {}, first ? "–" : say.area(fill.seeded_ha)),
    h("td", {}, before),
    h("td", {}, say.amount(fill.amount, unit), fill.same_mark && h("span", { class: "under" }, t.bins.same)),
    h("td", {}, fill.rate === null ? "–" : say.rate(fill.rate, unit)),
    h("td", {}, say.amount(tens(fill.level), unit)),
  );
}
