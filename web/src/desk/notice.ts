// One line at the foot of the page that says what was just done, with its undo; read out too.
import { button, h, on, put } from "./dom";
import { t } from "./words";

const box = h("div", { class: "notice", role: "status", "aria-live": "polite" });
let ends: ReturnType<typeof setTimeout> | undefined;
const STAYS_MS = 20_000;

export const noticeBox = box;

/** Says `text`; `undo` adds a button that takes it back. */
export function notice(text: string, undo?: () => void): void {
  clearTimeout(ends);
  const close = (): void => put(box);
  put(
    box,
    h(
      "div",
      { class: "notice-line" },
      h("span", {}, text),
      undo &&
        button(t.undo, () => {
          close();
          undo();
        }),
      on(h("button", { type: "button", class: "button quiet", "aria-label": t.close }, "×"), { click: close }),
    ),
  );
  // a notice that can be acted on waits for the hand; one that only tells goes away
  if (!undo) ends = setTimeout(close, STAYS_MS);
}
