// Fills that were written by hand on the back of the sheet, typed in from left to right.
import { CallError } from "../call";
import { button, h, on, put, type Child } from "../dom";
import * as home from "../home";
import { notice } from "../notice";
import type { FillColumn, SlipPaddock } from "../nouns";
import { undoOf } from "../time/changes";
import { noteReach, reason, reasonAndHint, trouble } from "../trouble";
import { t } from "../words";

const ROWS = 3;

/** A closed box with the form; `changed` is called when fills were kept or taken back. */
export function fillsBox(day: string, paddocks: readonly SlipPaddock[], changed: () => void): HTMLElement {
  const inside = h("div", {});
  const box = h("details", { class: "fills" }, h("summary", {}, t.fills.title), inside);
  let asked = false;
  const ask = async (): Promise<void> => {
    try {
      put(inside, form(day, paddocks, await home.fillColumns(), changed));
    } catch (error) {
      noteReach(error);
      put(inside, trouble(error, () => void ask()));
    }
  };
  return on(box, {
    toggle: () => {
      if (asked) return;
      asked = true;
      void ask();
    },
  });
}

function form(day: string, paddocks: readonly SlipPaddock[], columns: readonly FillColumn[], changed: () => void): Child {
  const said = h("p", { class: "wrong", role: "alert" });
  const rows = h("div", { class: "fill-rows" });
  const more = (): void => rows.append(row(rows.children.length + 1, columns));
  for (let i = 0; i < ROWS; i++) more();
  const where = h("select", { id: "fill-paddock" }, paddocks.map((one) => h("option", { value: one.id }, one.name)));
  async function keep(): Promise<void> {
    const given = [...rows.children].map((each) =>
      Object.fromEntries([...each.querySelectorAll("input")].map((cell) => [cell.name, cell.value.trim()])),
    );
    put(said);
    if (given.every((cells) => Object.values(cells).every((value) => value === ""))) {
      put(said, t.fills.nothing);
      return;
    }
    try {
      const { seq, t_ms } = await home.addFills(day, given, where.value, same.checked);
      const back = undoOf(t_ms.map((at) => ({ t_ms: at, kind: "fill" })), seq, where.value);
      notice(t.fills.kept(seq.length), () => {
        void home
          .addEntries(back)
          .then(() => notice(t.time.takenBack))
          .then(changed, (error: unknown) => notice(reasonAndHint(error)));
      });
      changed();
    } catch (error) {
      noteReach(error);
      const place = error instanceof CallError && error.where ? `${error.where}: ` : "";
      put(said, `${place}${reason(error)}`);
    }
  }
  const same = h("input", { type: "checkbox", id: "fill-same" });
  const made = h(
    "form",
    {},
    h("p", {}, t.fills.what),
    h("div", { class: "field" }, h("label", { for: "fill-paddock" }, t.fills.where), where),
    rows,
    h("label", { class: "check" }, same, h("span", {}, t.fills.same)),
    said,
    h("p", { class: "row" }, h("button", { type: "submit", class: "button plain" }, t.fills.keep), button(t.fills.more, more, {}, "quiet")),
  );
  return on(made, {
    submit: (event) => {
      event.preventDefault();
      void keep();
    },
  });
}

function row(number: number, columns: readonly FillColumn[]): HTMLElement {
  const cell = ({ name, head, unit, kind }: FillColumn): HTMLElement => {
    const id = `fill-${number}-${name}`;
    const mode = kind === "number" ? "decimal" : kind === "time" ? "numeric" : "text";
    const words = unit ? `${head}, ${unit}` : head;
    return h("div", { class: "field" }, h("label", { for: id }, words), h("input", { id, name, type: "text", inputmode: mode, autocomplete: "off", maxlength: 200 }));
  };
  return h("fieldset", { class: "fill-row" }, h("legend", {}, t.fills.row(number)), h("div", { class: "fill-cells" }, columns.map(cell)));
}
