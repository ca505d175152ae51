// One of a few: a row of large buttons of which one is pressed. And a number with less and more.
import { button, h, put } from "../dom";

/** The row; `chosen` hears what is pressed. */
export function options<K extends string>(label: string, names: Readonly<Record<K, string>>, first: K | null, chosen: (key: K) => void): HTMLElement {
  const keys = Object.keys(names) as K[];
  const made = keys.map((key) =>
    button(
      names[key],
      () => {
        made.forEach((each, i) => each.setAttribute("aria-pressed", keys[i] === key ? "true" : "false"));
        chosen(key);
      },
      { "data-option": key, "aria-pressed": key === first ? "true" : "false" },
    ),
  );
  return h("div", { class: "pairs options", role: "group", "aria-label": label }, made);
}

/** A number between two buttons; `changed` hears it. */
export function stepper(label: string, at: number, { least, most, step, say }: { least: number; most: number; step: number; say: (value: number) => string }, changed: (value: number) => void): HTMLElement {
  let value = at;
  const shown = h("span", { class: "value", "aria-live": "polite" }, say(value));
  const turn = (by: number) => (): void => {
    value = Math.min(most, Math.max(least, Math.round((value + by) / step) * step));
    put(shown, say(value));
    changed(value);
  };
  return h("div", { class: "stepper", role: "group", "aria-label": label }, h("span", { class: "named" }, label), button("−", turn(-step), { "aria-label": `${label} −` }), h("span", { class: "middle" }, shown), button("+", turn(step), { "aria-label": `${label} +` }));
}
