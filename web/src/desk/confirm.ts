// Asks before something that cannot be taken back, saying what it means.
import { button, h, on, type Child } from "./dom";
import { t } from "./words";

export interface Asked {
  title: string;
  body: readonly Child[];
  /** What the acting button says: the act, never "OK". */
  act: string;
  /** Where given, the text that has to be typed before the button acts. */
  typed?: string;
}

/** True when the person wants it. */
export function confirm(asked: Asked): Promise<boolean> {
  return new Promise((answer) => {
    let wanted = false;
    const field = h("input", { id: "confirm-typed", type: "text", autocomplete: "off", inputmode: "numeric" });
    const act = button(asked.act, () => {
      wanted = true;
      dialog.close();
    }, {}, "first");
    if (asked.typed) {
      act.disabled = true;
      on(field, { input: () => void (act.disabled = field.value.trim() !== asked.typed) });
    }
    const dialog = h(
      "dialog",
      { "aria-labelledby": "confirm-title", class: "confirm" },
      h("h2", { id: "confirm-title" }, asked.title),
      asked.body,
      asked.typed && h("p", { class: "field" }, h("label", { for: "confirm-typed" }, t.confirm.type(asked.typed)), field),
      h("p", { class: "row" }, act, button(t.confirm.no, () => dialog.close())),
    );
    dialog.addEventListener("close", () => {
      dialog.remove();
      answer(wanted);
    });
    document.body.append(dialog);
    dialog.showModal();
  });
}
