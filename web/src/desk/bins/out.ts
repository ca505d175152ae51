// Where a bin ran empty behind the driver: said, and marked as doubt and as bare once it is known until when.
import { h, on, put } from "../dom";
import type { Entry } from "../nouns";
import * as say from "../say";
import { desk } from "../state";
import { t } from "../words";
import { dayOf, momentAt } from "../when";
import type { Bin, Fill } from "../upshot";
import type { Keep } from "./page";

/** A moment later seed flows again: what was sown after the refill is sown. */
const AFTER_MS = 1000;

/** The band becomes doubt, what was sown between it and `found_ms`, when it was found empty, bare. */
export function outEntries({ from_ms, to_ms }: NonNullable<Fill["out"]>, found_ms: number, product: string, paddock: string): Entry[] {
  const end = Math.min(to_ms ?? found_ms, found_ms);
  const told = { kind: "flow", product, paddock };
  const off = { ...told, t_ms: found_ms, flow: "off", since_ms: Math.round((from_ms + end) / 2), since_spread_ms: Math.round((end - from_ms) / 2) };
  return [off, { ...told, t_ms: found_ms + AFTER_MS, flow: "on" }];
}

export function markOut(out: NonNullable<Fill["out"]>, bin: Bin, paddock: string, keep: Keep): HTMLElement {
  const said = h("p", { class: "wrong", role: "alert" });
  const id = `out-${bin.product}-${out.from_ms}`;
  const field = h("input", { id, type: "text", inputmode: "numeric", autocomplete: "off", maxlength: 5 });
  const { zone, day_start } = desk.get().settings;
  const made = h("form", { class: "row" }, h("div", { class: "field" }, h("label", { for: id }, t.bins.found), field), h("button", { type: "submit", class: "button plain" }, t.bins.mark));
  on(made, {
    submit: (event) => {
      event.preventDefault();
      const found = momentAt(dayOf(out.from_ms, zone, day_start), field.value, zone, day_start);
      const fine = found !== null && found > out.from_ms;
      put(said, !fine && t.bins.foundBad);
      if (fine) void keep(outEntries(out, found, bin.product, paddock), t.bins.marked);
    },
  });
  return h(
    "section",
    { class: "panel lead" },
    h("p", {}, h("strong", {}, t.bins.product(bin.product), ": "), out.to_ms === null ? t.bins.maybe(say.moment(out.from_ms)) : t.bins.out(say.moment(out.from_ms), say.minute(out.to_ms))),
    h("p", {}, out.to_ms === null ? t.bins.markDoubt(say.minute(out.from_ms)) : t.bins.markBoth(say.minute(out.from_ms), say.minute(out.to_ms))),
    made,
    said,
  );
}
