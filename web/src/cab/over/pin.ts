// Four taps on four signs: what a child's thumb does not hit upon.
import { h, put, s } from "../dom";
import { t } from "../words";

const TAPS = 4;
const SIGNS = ["M24 6L44 42H4Z", "M24 5a19 19 0 1 0 .1 0Z", "M7 7H41V41H7Z", "M17 5H31V17H43V31H31V43H17V31H5V17H17Z"];

/** The signs; `done` hears the four that were tapped, as digits from 1. */
export function taps(done: (pin: string) => void): HTMLElement {
  let pin = "";
  const said = h("p", { role: "status", class: "large" }, t.over.pin.tap(1));
  const tapped = (digit: number): void => {
    pin += String(digit);
    if (pin.length < TAPS) put(said, t.over.pin.tap(pin.length + 1));
    else {
      const all = pin;
      pin = "";
      put(said, t.over.pin.tap(1));
      done(all);
    }
  };
  const signs = SIGNS.map((d, i) => {
    const made = h("button", { type: "button", class: "button", "data-sign": i + 1, "aria-label": t.over.pin.names[i] }, s("svg", { viewBox: "0 0 48 48", class: "sign", "aria-hidden": "true" }, s("path", { d, class: "p-full" })));
    made.addEventListener("click", () => tapped(i + 1));
    return made;
  });
  return h("div", {}, said, h("div", { class: "pairs", role: "group", "aria-label": t.over.pin.title }, signs));
}
