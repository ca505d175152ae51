// What was filled in: product and amount.
import { button, h } from "../dom";
import type { Page } from "../route";
import { t } from "../words";
import { Note } from "./log";
import { toStanding } from "./page";
import { options } from "./options";

type Product = keyof typeof t.stand.fill.products;

/** A typed amount; null where it is none. */
export function amountOf(text: string): number | null {
  const value = Number(text.trim().replace(/\s/g, "").replace(",", "."));
  return text.trim() !== "" && Number.isFinite(value) && value > 0 && value < 1e6 ? value : null;
}

export function fillPage(): Page {
  let product: Product = "seed";
  const note = new Note();
  const label = h("label", { for: "amount" }, t.stand.fill.kg);
  const field = h("input", { id: "amount", type: "text", inputmode: "decimal", autocomplete: "off", maxlength: 9 });
  const chosen = (next: Product): void => {
    product = next;
    label.textContent = product === "fuel" ? t.stand.fill.l : t.stand.fill.kg;
  };
  const save = async (): Promise<void> => {
    const amount = amountOf(field.value);
    if (amount === null) return note.say(t.stand.fill.wrong);
    const unit = product === "fuel" ? "l" : "kg";
    const stored = await note.write({ kind: "fill", t_ms: Date.now(), product, [unit]: amount }, t.stand.fill.done(amount, unit, t.stand.fill.products[product].toLowerCase()));
    if (stored) field.value = "";
  };
  const body = h(
    "div",
    { class: "page" },
    h("h1", {}, t.stand.fill.title),
    options(t.stand.fill.title, t.stand.fill.products, product, chosen),
    label,
    field,
    button(t.stand.fill.act, () => void save(), {}, "first"),
    note.body,
    h("p", {}, t.stand.seat),
    h("p", {}, t.stand.fill.spilt),
    toStanding(),
  );
  return { title: t.stand.fill.title, body };
}
