// The first page of every later start: where one can go from here, and whether the phone is ready.
import { button, h, put } from "../dom";
import { go, type Page, pageOf, tiles } from "../route";
import { cab } from "../state";
import { t } from "../words";
import { readyLine } from "./readyline";

export function startPage(): Page {
  const line = readyLine();
  const ways = h("nav", { class: "tiles", "aria-label": t.start.title });
  const watched = cab.watch(["writes", "part", "pack"], ({ writes, part }) => {
    const first = tiles();
    put(
      ways,
      !writes && part === "keeper" ? h("section", { role: "alert" }, h("h2", {}, t.other.title), h("p", {}, t.other.body)) : null,
      first.map(({ name, tile }, at) =>
        button([h("span", {}, tile.text()), tile.under === undefined ? null : h("span", { class: "under" }, tile.under())], () => go(name), { "data-page": name }, at === 0 ? "first" : "plain"),
      ),
    );
  });
  const close = (): void => {
    watched();
    line.close();
  };
  return pageOf(t.start.title, [line.body, ways], close);
}
