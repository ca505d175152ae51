// How phones reach this house over the yard's Wi-Fi, and what about it will end soon.
import * as home from "../home";
import { h, put } from "../dom";
import type { Yard } from "../nouns";
import { noteReach } from "../trouble";
import { t } from "../words";

/** `reached` is told whether a phone can reach the house at all. */
export function yardPanel(reached: (reached: boolean) => void): HTMLElement {
  const box = h("div", {});
  home.yard().then((yard) => {
    put(box, drawn(yard));
    reached(yard.address !== null);
    return undefined;
  }, noteReach);
  return box;
}

function drawn(yard: Yard): HTMLElement {
  const notices = yard.notices.map((one) => h("li", {}, `${one.message} ${one.hint}`));
  return h(
    "div",
    { class: yard.address ? "panel" : "panel lead" },
    yard.address
      ? h("p", {}, t.phones.yard, " ", h("strong", { class: "address" }, yard.address), yard.trust && [". ", h("a", { href: yard.trust, target: "_blank", rel: "noopener" }, t.phones.trust)])
      : h("p", {}, t.phones.noYard),
    notices.length > 0 && h("ul", { class: "lines" }, notices),
  );
}
