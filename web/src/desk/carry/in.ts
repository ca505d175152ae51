// Carry in: what each file was, what was new in it, what was there already.
import * as home from "../home";
import { h } from "../dom";
import { fileField } from "../files";
import type { Taken } from "../nouns";
import { to } from "../route";
import * as say from "../say";
import { noteReach, reasonAndHint } from "../trouble";
import { t } from "../words";

export function bringIn(): HTMLElement {
  const list = h("ul", { class: "rows", "aria-live": "polite" });
  let turn = Promise.resolve();
  const field = fileField("carry-in", t.carry.choose, "", true, (files) => {
    for (const file of files) {
      const line = h("li", { class: "line" }, h("strong", {}, file.name), h("span", { class: "under" }, t.carry.reading));
      list.prepend(line);
      // one after another: the order of two files of one phone is theirs
      turn = turn.then(() => take(file, line));
    }
  });
  return h("section", { class: "panel lead" }, h("h2", {}, t.carry.in), h("p", {}, t.carry.inWhat), field, list);
}

async function take(file: File, line: HTMLElement): Promise<void> {
  try {
    line.replaceChildren(...said(file.name, await home.carryIn(file)));
  } catch (error) {
    noteReach(error);
    line.replaceChildren(h("strong", {}, file.name), h("span", { class: "wrong" }, reasonAndHint(error)));
  }
}

function said(name: string, taken: Taken): HTMLElement[] {
  const days = taken.days.map(say.dayShort).join(", ");
  return [
    h(
      "div",
      {},
      h("strong", {}, name),
      h("span", { class: "under" }, taken.kept ? t.carry.kept(say.count(taken.kept), days) : t.carry.again),
      taken.notes.length > 0 && h("ul", { class: "lines under" }, taken.notes.map((note) => h("li", {}, note))),
    ),
    h("a", { href: to.board }, t.carry.toBoard),
  ];
}
