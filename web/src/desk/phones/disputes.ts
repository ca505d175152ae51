// Entries that came under a number already used: both, to be looked at.
import * as home from "../home";
import { h, on, type Child } from "../dom";
import type { Dispute } from "../nouns";
import * as say from "../say";
import { show } from "../trouble";
import { t } from "../words";

/** Asks only when it is opened: there are hardly ever any. */
export function disputesPanel(): HTMLElement {
  const inside = h("div", {});
  let asked = false;
  const made = h("details", { id: "disputes" }, h("summary", {}, t.phones.disputes), inside);
  return on(made, {
    toggle: () => {
      if (made.open && !asked) void show(inside, home.disputes, drawn);
      asked = true;
    },
  });
}

function drawn(found: readonly Dispute[]): Child[] {
  if (!found.length) return [h("p", {}, t.phones.noDisputes)];
  return [h("p", {}, t.phones.disputesWhat), h("ul", { class: "lines" }, found.map(row))];
}

function row({ dev, seq, held, came, received_ms }: Dispute): HTMLElement {
  const words = (name: string, line: string): HTMLElement => h("p", { class: "under wraps" }, `${name}: ${line}`);
  return h(
    "li",
    {},
    h("strong", {}, t.phones.dispute(seq, dev, say.moment(received_ms))),
    held !== null && words(t.phones.heldEntry, held),
    words(t.phones.cameEntry, came),
  );
}
