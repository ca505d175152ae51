// A formula as a panel: numbers go in, the answer stands below with the formula it comes from. Nothing is kept.
import { h, on, put, type Child } from "../dom";
import { t } from "../words";

/** A number above nought; NaN where it is none. */
export function above(text: string | undefined): number {
  const value = Number((text ?? "").trim().replace(",", "."));
  return value > 0 ? value : Number.NaN;
}

/** The catches of a tray, apart by spaces; empty where one of them is no number. */
export function catchesOf(text: string | undefined): number[] {
  const all = (text ?? "").trim().split(/[\s;]+/).map(above);
  return all.some(Number.isNaN) ? [] : all;
}

/** A field: its name and label, what is to be said of it, or the choices that it has. */
export type Field = readonly [name: string, label: string, more?: string | readonly string[]];
export type Values = Readonly<Record<string, string>>;

/** A panel: its fields, and below what they come to, while one types; null: something is lacking. */
export function sums(title: string, fields: readonly Field[], answer: (values: Values) => Child[] | null): HTMLElement {
  const out = h("output", { class: "lines", "aria-live": "polite" });
  const made = h(
    "form",
    {},
    h("div", { class: "fill-cells" }, fields.map(fieldOf)),
  );
  const reckon = (): void => put(out, answer(Object.fromEntries(new FormData(made)) as Values) ?? [h("span", {}, t.rates.waits)]);
  on(made, { input: reckon, submit: (event) => event.preventDefault() });
  reckon();
  return h("section", { class: "panel formula" }, h("h2", {}, title), made, out);
}

function fieldOf([name, label, more]: Field): HTMLElement {
  const id = `rate-${name}`;
  const says = h("label", { for: id }, label);
  if (Array.isArray(more)) return h("div", { class: "field" }, says, h("select", { id, name }, more.map((word: string) => h("option", { value: word }, word))));
  const why = typeof more === "string" && h("span", { class: "under", id: `rate-why-${name}` }, more);
  return h("div", { class: "field" }, says, h("input", { id, name, type: "text", inputmode: "decimal", autocomplete: "off", maxlength: 80, "aria-describedby": why ? why.id : null }), why);
}

export const known = (...numbers: number[]): boolean => numbers.every((value) => Number.isFinite(value));
/** An answer with its formula under it. */
export const line = (text: string, how: string): HTMLElement => h("span", {}, text, h("span", { class: "under" }, how));
