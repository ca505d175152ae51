// The rig cards of the farm.
import * as home from "../home";
import { h } from "../dom";
import { to, type Page } from "../route";
import { show } from "../trouble";
import { t } from "../words";

export function rigsPage(): Page {
  const inside = h("div", {});
  void show(inside, home.rigs, (rigs) =>
    rigs.length
      ? [
          h("ul", { class: "cards" }, rigs.map((rig) => h("li", { class: "card rig-card" }, h("div", { class: "card-words" }, h("h2", {}, h("a", { href: to.rig(rig.id) }, rig.name)), h("p", {}, t.rig.version(rig.version)), h("img", { class: "sketch", src: home.sketch(rig.id, rig.version), alt: t.rig.sketchOf(rig.name) }))))),
          h("p", {}, h("a", { class: "button first", href: to.newRig }, t.rig.add)),
        ]
      : h("section", { class: "panel lead" }, h("p", {}, t.rig.none), h("p", {}, h("a", { class: "button first", href: to.newRig }, t.rig.addFirst))),
  );
  return { title: t.pages.rigs, body: h("div", { class: "page" }, h("h1", {}, t.pages.rigs), h("p", {}, t.rig.what), inside) };
}
