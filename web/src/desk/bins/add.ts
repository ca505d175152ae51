// One fill typed in: product, when, how much, what was left.
import { h, on, put } from "../dom";
import { desk } from "../state";
import { t } from "../words";
import { momentAt } from "../when";
import type { Keep } from "./page";

const number = (text: string): number | null => {
  const value = Number(text.trim().replace(",", "."));
  return text.trim() === "" || !Number.isFinite(value) || value < 0 ? null : value;
};

/** A closed box with the form; `day` is the farm day it starts with. */
export function addFill(paddock: string, day: string, keep: Keep): HTMLElement {
  const said = h("p", { class: "wrong", role: "alert" });
  const text = (name: string, label: string, value = "", mode = "decimal"): HTMLElement => h("div", { class: "field" }, h("label", { for: `bin-${name}` }, label), h("input", { id: `bin-${name}`, name, type: "text", inputmode: mode, autocomplete: "off", maxlength: 20, value }));
  const product = h("select", { id: "bin-product", name: "product" }, Object.entries(t.bins.products).map(([value, words]) => h("option", { value }, words)));
  const made = h(
    "form",
    {},
    h("div", { class: "fill-cells" }, h("div", { class: "field" }, h("label", { for: "bin-product" }, t.bins.addProduct), product), text("day", t.bins.addDay, day, "numeric"), text("time", t.bins.addTime, "", "numeric"), text("amount", t.bins.addAmount), text("left", t.bins.addLeft)),
    h("label", { class: "check" }, h("input", { type: "checkbox", name: "same" }), h("span", {}, t.bins.addSame)),
    said,
    h("p", {}, h("button", { type: "submit", class: "button plain" }, t.bins.addSave)),
  );
  const save = async (): Promise<void> => {
    const data = new FormData(made);
    const word = (name: string): string => String(data.get(name) ?? "");
    const { zone, day_start } = desk.get().settings;
    const [t_ms, amount, left] = [momentAt(word("day").trim(), word("time"), zone, day_start), number(word("amount")), number(word("left"))];
    if (t_ms === null || !amount) {
      put(said, t.bins.addBad);
      return;
    }
    put(said);
    const unit = word("product") === "fuel" ? "l" : "kg";
    await keep([{ t_ms, kind: "fill", product: word("product"), [unit]: amount, paddock, ...(left === null ? {} : { left }), ...(data.has("same") ? { same_mark: true } : {}) }], t.bins.kept);
  };
  return h("details", { class: "fills" }, h("summary", {}, t.bins.add), on(made, {
    submit: (event) => {
      event.preventDefault();
      void save();
    },
  }));
}
