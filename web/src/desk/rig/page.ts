// One rig card: its lengths and times to fill in, its sketch to scale, its versions.
import { CallError } from "../call";
import * as home from "../home";
import { h, on, put, type Child } from "../dom";
import { notice } from "../notice";
import type { Card, RigThing } from "../nouns";
import { go, to, type Page, type Params } from "../route";
import { desk } from "../state";
import { noteReach, reasonAndHint, show } from "../trouble";
import { versionList } from "../versions";
import { t } from "../words";
import { fieldIn, FIELDS, fitting, valueOf, withValue, written, type Field, type RigKind } from "./fields";

const KINDS: readonly RigKind[] = ["towed", "mounted", "cart-between"];
const NEW: Card = { name: "", kind: "towed" };
const TABLES = ["phone", "tractor", "cart", "tool", "turn", "times"] as const;

export function rigPage({ id }: Params): Page {
  const inside = h("div", {});
  const title = h("h1", {}, id ? t.rig.title : t.rig.newTitle);
  void show(inside, async () => (id ? home.rig(id) : null), (rig) => {
    if (rig) put(title, rig.name);
    return form(rig);
  });
  return { title: id ? t.rig.title : t.rig.newTitle, body: h("div", { class: "page rig" }, title, inside) };
}

function form(rig: RigThing | null): Child[] {
  const farm = desk.get().settings.units;
  let card: Card = rig?.card ?? NEW;
  const kindNow = (): RigKind => KINDS.find((kind) => kind === card["kind"]) ?? "towed";
  const name = h("input", { id: "rig-name", type: "text", required: true, value: typeof card["name"] === "string" ? card["name"] : "" });
  const why = h("input", { id: "rig-why", type: "text", autocomplete: "off" });
  const said = h("p", { class: "wrong", role: "alert" });
  const groups = h("div", { class: "rig-groups" });
  const send = h("button", { type: "submit", class: "button first" }, rig ? t.rig.save : t.rig.saveNew);

  on(name, { change: () => void (card = { ...card, name: name.value.trim() }) });
  const kinds = h(
    "fieldset",
    { class: "choices" },
    h("legend", {}, t.rig.kind),
    KINDS.map((kind) => {
      const choice = h("input", { type: "radio", name: "rig-kind", id: `rig-${kind}`, value: kind, checked: kind === kindNow() });
      on(choice, {
        change: () => {
          card = { ...card, kind };
          drawGroups();
        },
      });
      return h("label", { class: "choice" }, choice, h("span", {}, h("strong", {}, t.rig.kinds[kind][0]), h("span", { class: "under" }, t.rig.kinds[kind][1])));
    }),
  );
  function drawGroups(): void {
    put(
      groups,
      TABLES.map((table) => {
        const fields = FIELDS.filter((field) => field.table === table && field.kinds.includes(kindNow()));
        return fields.length > 0 && h("fieldset", {}, h("legend", {}, t.rig.tables[table]), table === "times" && h("p", { class: "caution-line" }, t.caution.times), fields.map(input));
      }),
    );
  }
  function input(field: Field): HTMLElement {
    const fieldId = `rig-${field.table}-${field.key}`;
    const words = t.rig.fields[`${field.table}.${field.key}`] ?? [field.key, ""];
    const needed = field.needed.includes(kindNow());
    const box = h("input", { id: fieldId, type: "text", inputmode: "decimal", autocomplete: "off", value: valueOf(card, field, farm), required: needed, "aria-describedby": words[1] ? `${fieldId}-how` : null });
    on(box, { change: () => void (card = withValue(card, field, box.value, farm)) });
    return h(
      "div",
      { class: "field measure" },
      h("label", { for: fieldId }, words[0], needed && h("span", { class: "needed" }, ` (${t.rig.needed})`)),
      h("span", { class: "with-unit" }, box, h("span", {}, written(field.unit, farm))),
      words[1] && h("span", { class: "under", id: `${fieldId}-how` }, words[1]),
    );
  }
  async function save(): Promise<void> {
    send.disabled = true;
    put(said);
    const fitted = fitting({ ...card, name: name.value.trim() }, kindNow(), farm);
    try {
      const found = rig ? await home.saveRig(rig.id, rig.version, fitted, why.value.trim()) : await home.addRig(fitted);
      notice([t.rig.saved(found.version), ...found.notes].join(" "));
      go(to.rig(rig?.id ?? found.id ?? ""), true);
    } catch (error) {
      noteReach(error);
      put(said, reasonAndHint(error));
      if (error instanceof CallError) mark(error);
    } finally {
      send.disabled = false;
    }
  }
  /** Goes to the field that the error names, where it names one. */
  function mark(error: CallError): void {
    const field = fieldIn(`${error.where} ${error.message}`, kindNow());
    const box = field && document.getElementById(`rig-${field.table}-${field.key}`);
    if (!box) return;
    box.setAttribute("aria-invalid", "true");
    box.focus();
  }
  drawGroups();
  const filled = h(
    "form",
    { class: "rig-form", novalidate: true },
    h("p", { class: "field" }, h("label", { for: "rig-name" }, t.rig.name), name),
    kinds,
    groups,
    rig && h("p", { class: "field" }, h("label", { for: "rig-why" }, t.versions.why), why),
    said,
    h("p", {}, send),
  );
  on(filled, {
    submit: (event) => {
      event.preventDefault();
      void save();
    },
  });
  return [
    h("p", { class: "caution-line" }, t.caution.seat),
    rig ? h("div", { class: "rig-halves" }, sketch(rig), filled) : [h("p", {}, t.rig.sketchLater), filled],
    versionList(rig?.history),
  ].flat();
}

function sketch(rig: RigThing): Child {
  return h(
    "figure",
    {},
    h("img", { class: "sketch", src: home.sketch(rig.id, rig.version), alt: t.rig.sketchOf(rig.name) }),
    h("figcaption", {}, t.rig.sketch),
    rig.notes?.length ? h("ul", { class: "lines panel" }, rig.notes.map((note) => h("li", {}, note))) : null,
  );
}
