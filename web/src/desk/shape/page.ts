// The shape of a paddock: drawn, taken from a file or a lap, edited by hand or keyboard, saved by version.
import * as home from "../home";
import { button, h, on, put } from "../dom";
import { confirm } from "../confirm";
import { notice } from "../notice";
import type { Collection, Geometry, LonLat, PaddockThing } from "../nouns";
import { go, to, type Page, type Params } from "../route";
import * as say from "../say";
import { createStore } from "../store";
import { noteReach, reasonAndHint, trouble } from "../trouble";
import { versionList } from "../versions";
import { t } from "../words";
import { bringPanel } from "./bring";
import { cornerList } from "./corners";
import { changed, collectionOf, draftOf, EMPTY, lacking, removed, withPiece, type Draft } from "./draft";
import { createEditor, type Editor, type Tool } from "./editor";
import { spot, strip } from "./form";
import { gateList, point } from "./gates";
import { outList } from "./outs";

interface Shape {
  thing: PaddockThing | null;
  draft: Draft;
  saved: Draft;
  steps: readonly Draft[];
  chosen: number | null;
  tool: Tool | null;
  notes: readonly string[];
  busy: boolean;
  wrong: string;
  /** Whether there is a boundary. */
  landed: boolean;
}

const hasLand = (draft: Draft): boolean => draft.pieces.some((piece) => piece.boundary);

export function shapePage({ id }: Params): Page {
  const store = createStore<Shape>({ thing: null, draft: EMPTY, saved: EMPTY, steps: [], chosen: null, tool: null, notes: [], busy: false, wrong: "", landed: false });
  const mapBox = h("div", { class: "map", "aria-label": t.map.label });
  const slots = { head: h("div", {}), tools: h("div", { class: "row" }), land: h("section", {}), bring: h("section", {}), outs: h("section", {}), gates: h("section", { "aria-label": t.shape.gates }), corners: h("details", {}), save: h("section", {}), versions: h("div", {}) };
  const name = h("input", { id: "paddock-name", type: "text", autocomplete: "off", required: true });
  const why = h("input", { id: "paddock-why", type: "text", autocomplete: "off" });
  const body = h("div", { class: "page shape" }, slots.head, h("div", { class: "sheet-grid" }, h("div", { class: "column" }, slots.tools, mapBox), h("div", { class: "column" }, slots.bring, slots.land, slots.outs, slots.gates, slots.corners, slots.save, slots.versions)));
  let editor: Editor | null = null;
  let closed = false;

  /** Takes a step that can be taken back. */
  function step(draft: Draft, more: Partial<Shape> = {}): void {
    const { draft: before, steps } = store.get();
    store.set({ draft, landed: hasLand(draft), steps: [...steps.slice(-199), before], wrong: "", ...more });
  }
  function bring(shape: Collection, notes: string[]): void {
    const draft = draftOf(shape);
    step({ name: draft.name || store.get().draft.name, pieces: draft.pieces }, { notes, chosen: null });
    name.value = store.get().draft.name;
    editor?.whole();
  }
  function drawn(tool: Tool, geometry: Geometry | null, points: [number, number][]): void {
    const { draft } = store.get();
    const [at] = points;
    const made = tool === "spot" && at ? spot(at, SPOT_M) : tool === "line" ? strip(points, LINE_M) : geometry;
    store.set({ tool: null });
    if (!made) return;
    if (tool === "gate") return at && addGate(at);
    const boundary = tool === "boundary";
    const next = withPiece(draft, made, boundary, tool === "line" ? t.shape.kindLine : "");
    step(next, { chosen: boundary ? null : (next.pieces.at(-1)?.id ?? null) });
    if (!boundary) document.getElementById("out-kind")?.focus();
  }
  const addGate = (at: LonLat): void => step(withPiece(store.get().draft, point(at), false, "gate", true), { chosen: null });
  function take(tool: Tool | null): void {
    store.set({ tool });
    editor?.draw(tool);
  }
  async function read(): Promise<void> {
    try {
      const [thing, all] = await Promise.all([id ? home.paddock(id) : null, home.paddocks()]);
      const others = await Promise.all(all.filter((one) => one.id !== id).slice(0, 30).map((one) => home.paddock(one.id)));
      if (closed) return;
      const draft = thing ? draftOf(thing.geojson) : EMPTY;
      // a new one may have been begun before home answered
      if (thing || store.get().steps.length === 0) {
        name.value = draft.name;
        store.set({ thing, draft, saved: draft, steps: [], landed: hasLand(draft) });
      }
      editor = createEditor(mapBox, (piece, geometry) => step(changed(store.get().draft, piece, { geometry })), (tool, what) => drawn(tool, what.geometry, what.points));
      editor.neighbours(others.map((one) => one.geojson));
      editor.load(store.get().draft, null);
      drawLand(store.get().draft);
      editor.whole();
    } catch (error) {
      noteReach(error);
      if (!closed) put(slots.head, trouble(error, () => void read()));
    }
  }
  async function save(): Promise<void> {
    const { draft, thing } = store.get();
    const missing = lacking(draft);
    if (missing) {
      store.set({ wrong: t.shape.lacking[missing] });
      if (missing === "name") name.focus();
      return;
    }
    store.set({ busy: true, wrong: "" });
    try {
      const shape = collectionOf(draft);
      const found = thing ? await home.savePaddock(thing.id, thing.version, shape, why.value.trim()) : await home.addPaddock(shape);
      store.set({ saved: draft });
      notice([t.shape.savedAs(found.version), ...found.notes].join(" "));
      go(to.paddock(thing?.id ?? found.id ?? ""));
    } catch (error) {
      noteReach(error);
      store.set({ wrong: reasonAndHint(error) });
    } finally {
      store.set({ busy: false });
    }
  }
  async function putAway(): Promise<void> {
    const { thing } = store.get();
    if (!thing || !(await confirm({ title: t.shape.awayTitle(thing.name), body: [h("p", {}, t.shape.awayWhat)], act: t.shape.away }))) return;
    try {
      await home.putAwayPaddock(thing.id);
      store.set({ saved: store.get().draft });
      notice(t.shape.awayDone(thing.name), () => void home.bringBackPaddock(thing.id).then(() => go(to.paddock(thing.id)), (error: unknown) => notice(reasonAndHint(error))));
      go(to.board);
    } catch (error) {
      noteReach(error);
      store.set({ wrong: reasonAndHint(error) });
    }
  }

  on(name, { change: () => step({ ...store.get().draft, name: name.value }) });
  const ends = [
    store.watch(["thing"], ({ thing }) => {
      put(slots.head, h("div", { class: "title-row" }, h("h1", {}, thing ? t.shape.title(thing.name) : t.shape.newTitle), thing && h("p", {}, h("a", { href: to.paddock(thing.id) }, t.shape.toSheet))));
      put(slots.versions, versionList(thing?.history), thing && h("p", {}, button(t.shape.away, () => void putAway(), { id: "put-away" })));
    }),
    store.watch(["draft", "chosen"], ({ draft, chosen }) => {
      editor?.load(draft, chosen);
      drawLand(draft);
      body.classList.toggle("fresh", !hasLand(draft));
      if (!hasLand(draft)) {
        slots.outs.replaceChildren();
        slots.gates.replaceChildren();
        slots.corners.hidden = true;
        return;
      }
      slots.corners.hidden = false;
      put(slots.outs, h("h2", {}, t.shape.outs), outList(draft, chosen, { choose: (piece) => store.set({ chosen: piece }), change: (piece, change) => step(changed(store.get().draft, piece, change)), remove: (piece) => step(removed(store.get().draft, piece), { chosen: null }) }));
      put(slots.gates, h("h2", {}, t.shape.gates), gateList(draft, { add: addGate, change: (piece, change) => step(changed(store.get().draft, piece, change)), remove: (piece) => step(removed(store.get().draft, piece)), wrong: (wrong) => store.set({ wrong }) }));
      const edited = draft.pieces.find((piece) => piece.id === chosen) ?? draft.pieces.find((piece) => piece.boundary);
      put(slots.corners, h("summary", {}, t.shape.corners), edited ? cornerList(edited.geometry, (geometry) => step(changed(store.get().draft, edited.id, { geometry })), (corner) => editor?.look(corner)) : h("p", {}, t.shape.noCorners));
    }),
    store.watch(["thing", "landed"], ({ thing, landed }) => {
      // before there is a boundary, getting one is the one thing to do
      put(slots.bring, landed || thing ? h("details", {}, h("summary", {}, t.shape.replace), bringPanel(bring)) : h("div", { class: "panel lead" }, h("h2", {}, t.shape.firstBoundary), bringPanel(bring)));
    }),
    store.watch(["tool", "draft", "steps"], ({ tool, draft, steps }) => drawTools(tool, draft, steps.length > 0)),
    store.watch(["notes", "wrong", "busy", "thing", "landed"], drawSave),
  ];
  function drawLand({ pieces }: Draft): void {
    const boundary = pieces.find((piece) => piece.boundary);
    put(slots.land, h("p", { class: "field" }, h("label", { for: "paddock-name" }, t.shape.name), name), boundary && editor && h("p", {}, t.shape.about(say.roughly(editor.about(boundary)))));
  }
  function drawTools(tool: Tool | null, draft: Draft, undoable: boolean): void {
    const has = hasLand(draft);
    if (tool) return put(slots.tools, h("p", { role: "status" }, t.shape.drawing[tool]), button(t.shape.stop, () => take(null), { id: "tool-stop" }));
    const one = (which: Tool): HTMLElement => button(t.shape.tools[which], () => take(which), { id: `tool-${which}` });
    put(slots.tools, has ? [one("round"), one("spot"), one("line"), one("gate")] : one("boundary"), has && button(t.shape.redraw, () => take("boundary"), { id: "tool-boundary" }), button(t.undo, takeBack, { id: "tool-undo", disabled: !undoable }), has && h("p", { class: "tip" }, t.shape.drag));
  }
  function takeBack(): void {
    const { steps } = store.get();
    const last = steps.at(-1);
    if (!last) return;
    store.set({ draft: last, steps: steps.slice(0, -1), chosen: null, landed: hasLand(last) });
    name.value = last.name;
  }
  function drawSave({ notes, wrong, busy, thing, landed }: Readonly<Shape>): void {
    if (!landed) return put(slots.save);
    put(
      slots.save,
      notes.length > 0 && h("ul", { class: "lines panel" }, notes.map((note) => h("li", {}, note))),
      thing && h("p", { class: "field" }, h("label", { for: "paddock-why" }, t.versions.why), why),
      wrong && h("p", { class: "wrong", role: "alert" }, wrong),
      h("p", {}, button(thing ? t.shape.save : t.shape.saveNew, () => void save(), { id: "shape-save", disabled: busy }, "first")),
    );
  }
  queueMicrotask(() => void read());
  return {
    title: id ? t.shape.titlePlain : t.shape.newTitle,
    body,
    unsaved: () => store.get().draft !== store.get().saved,
    close() {
      closed = true;
      for (const end of ends) end();
      editor?.close();
    },
  };
}

/** A pole or a stone is kept out with this radius, a wire or a ditch with this half width, until edited. */
const SPOT_M = 1.5;
const LINE_M = 1.5;
