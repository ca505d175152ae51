// The keep-outs of a paddock as a list, each with its kind, its days and its note.
import { button, h, on, type Child } from "../dom";
import { keepOuts } from "../land";
import { t } from "../words";
import { collectionOf, type Draft, type Piece } from "./draft";

export interface OutActs {
  choose(id: number | null): void;
  change(id: number, change: Partial<Piece>): void;
  remove(id: number): void;
}

export function outList(draft: Draft, chosen: number | null, acts: OutActs): Child | Child[] {
  const pieces = draft.pieces.filter((piece) => !piece.boundary && !piece.gate);
  if (!pieces.length) return h("p", {}, t.shape.noOuts);
  const letters = keepOuts(collectionOf(draft)).map((out) => out.letter);
  const list = h(
    "ul",
    { class: "outs" },
    pieces.map((piece, index) => {
      const open = piece.id === chosen;
      const title = piece.name || piece.kind || t.shape.unnamed;
      return h(
        "li",
        {},
        button([h("span", { class: "letter" }, letters[index]), ` ${title}`, piece.until && ` · ${t.shape.untilDay(piece.until)}`], () => acts.choose(open ? null : piece.id), { id: `out-${piece.id}`, "aria-expanded": String(open), class: "button plain out" }),
        open && form(piece, acts),
      );
    }),
  );
  return [h("p", { class: "caution-line" }, t.caution.wires), list];
}

function form(piece: Piece, acts: OutActs): HTMLElement {
  const text = (key: "kind" | "name" | "from" | "until" | "note", label: string, type = "text", more: Record<string, string> = {}): Child => {
    const id = `out-${key}`;
    const field = h("input", { id, type, value: piece[key], ...more });
    on(field, { change: () => acts.change(piece.id, { [key]: field.value }) });
    return h("p", { class: "field" }, h("label", { for: id }, label), field);
  };
  const hazard = h("input", { id: "out-hazard", type: "checkbox", checked: piece.hazard });
  on(hazard, { change: () => acts.change(piece.id, { hazard: hazard.checked }) });
  return h(
    "div",
    { class: "out-form" },
    text("kind", t.shape.kind, "text", { list: "out-kinds" }),
    h("datalist", { id: "out-kinds" }, t.shape.kinds.map((kind) => h("option", { value: kind }))),
    text("name", t.shape.outName),
    h("p", { class: "check" }, hazard, h("label", { for: "out-hazard" }, t.shape.hazard)),
    h("div", { class: "row" }, text("from", t.shape.from, "date"), text("until", t.shape.until, "date")),
    h("p", { class: "under" }, t.shape.dates),
    text("note", t.shape.note),
    h("p", {}, button(t.shape.removeOut, () => acts.remove(piece.id), { id: "out-remove" })),
  );
}
