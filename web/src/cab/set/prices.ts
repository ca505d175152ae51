// The prices that going back is weighed with, on this phone: each with whose it is, the farm's, this phone's or
// an example.
import { EXAMPLE, EXAMPLE_TRIP_MIN, bareHa } from "../../core/price";
import { choices, choose } from "../choices";
import { button, h, lineBox, outcome, put } from "../dom";
import { PRICES, costs, money, priceOf, type Price } from "../prices";
import { go, type Page, pageOf } from "../route";
import { backButton } from "../shell";
import { cab, keeper } from "../state";
import { t } from "../words";

/** A typed price; null where it is none. */
export function numberOf(text: string): number | null {
  const value = Number(text.trim().replace(/\s/g, "").replace(",", "."));
  return text.trim() !== "" && Number.isFinite(value) && value >= 0 && value < 1e6 ? value : null;
}

export function pricesPage(): Page {
  const said = outcome();
  const fields = PRICES.map((name) => ({ name, field: lineBox(name, 9, { inputmode: "decimal", value: shown(name), placeholder: t.worth.prices.example(exampleOf(name)) }) }));
  const keep = (): void => {
    const mine: Record<string, number> = { ...choices.get().prices };
    for (const { name, field } of fields) {
      if (field.value === shown(name)) continue; // untouched: whoever's it was, it stays so
      if (field.value.trim() === "") {
        delete mine[name];
        continue;
      }
      const value = numberOf(field.value);
      if (value === null) return put(said, t.worth.prices.wrong(t.worth.prices.names[name][0]));
      mine[name] = value;
    }
    choose({ prices: mine }, keeper());
    go("prices");
  };
  const farm = (): void => {
    choose({ prices: {} }, keeper());
    go("prices");
  };
  return pageOf(t.worth.prices.title, [
    h("p", {}, t.worth.prices.what),
    h("p", { class: "large", id: "bare-ha" }, t.worth.prices.bare(money(bareHa(costs().prices)))),
    fields.map(({ name, field }) => {
      const [what, unit] = t.worth.prices.names[name];
      return h("div", { class: "priced" }, h("label", { for: name }, `${what}, ${unit}`), field, h("p", { class: "under" }, t.worth.prices.whose[whose(name)]));
    }),
    said,
    button(t.worth.prices.save, keep, {}, "first"),
    Object.keys(choices.get().prices).length === 0 ? null : button(t.worth.prices.farm, farm),
    backButton(),
  ]);
}

/** What somebody has set; an example only stands where nothing is typed. */
const shown = (name: Price): string => String(priceOf(name) ?? "");
const exampleOf = (name: Price): number => (name === "trip_min" ? EXAMPLE_TRIP_MIN : EXAMPLE[name]);

function whose(name: Price): "phone" | "farm" | "example" {
  if (choices.get().prices[name] !== undefined) return "phone";
  return cab.get().pack !== null && priceOf(name) !== null ? "farm" : "example";
}
