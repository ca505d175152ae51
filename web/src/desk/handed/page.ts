// The handover at home: the eight lines, the script for the radio, and the page to print.
import * as home from "../home";
import { h, type Child } from "../dom";
import { rivalsAt } from "../board/rivals";
import type { Board, PaddockThing, Work } from "../nouns";
import { to, type Page, type Params } from "../route";
import * as say from "../say";
import { desk } from "../state";
import { show } from "../trouble";
import { t } from "../words";

const BLANK = "____";

export function handedPage({ id = "" }: Params): Page {
  const season = Number(new URLSearchParams(location.search).get("season")) || desk.get().season;
  const inside = h("div", { class: "handed" });
  void show(inside, () => Promise.all([home.paddock(id), home.work(id, season), home.board(season)]), ([thing, work, board]) => whole(thing, work, season, board));
  return { title: t.handed.title, body: h("div", { class: "page narrow" }, inside) };
}

function whole(thing: PaddockThing, { handover }: Work, season: number, board: Board): Child[] {
  const back = h("p", {}, h("a", { href: to.paddock(thing.id, season) }, t.handed.back));
  const head = h("h1", {}, t.handed.of(thing.name));
  if (!handover) return [head, h("p", {}, t.handed.nothing), back];
  const lines = new Map(handover.lines);
  return [
    head,
    h("p", {}, t.handed.what(say.moment(handover.at_ms))),
    ...rivalsAt(board, handover.at_ms),
    h("section", { class: "lead" }, h("p", {}, lines.get("Next") ?? ""), h("a", { class: "button first", href: `/handover/${encodeURIComponent(thing.id)}?season=${season}`, target: "_blank", rel: "noopener" }, t.handed.print)),
    h("dl", { class: "eight" }, handover.lines.filter(([name]) => name !== "Next").flatMap(([name, text]) => [h("dt", {}, t.handed.names[name] ?? name), h("dd", {}, blanks(text))])),
    h("section", { class: "panel" }, h("h2", {}, t.handed.script), h("p", { class: "script" }, handover.script), h("p", { class: "under" }, t.handed.words(handover.spoken))),
    h("p", { class: "caution-line" }, t.worth.caution),
    back,
  ];
}

/** What is not known stands as such; on paper there is a rule for the pen. */
function blanks(text: string): Child[] {
  return text.split(BLANK).flatMap((part, at) => (at === 0 ? [part] : [h("span", { class: "blank" }, t.handed.blank), part]));
}
