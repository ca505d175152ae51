// Three ways to a boundary without drawing: a file, a driven lap, corners that are typed.
import * as home from "../home";
import { button, h, on, put, type Child } from "../dom";
import { fileField } from "../files";
import type { Brought, Collection } from "../nouns";
import * as say from "../say";
import { desk } from "../state";
import { noteReach, reasonAndHint } from "../trouble";
import { t } from "../words";
import { polygon, typedCorners } from "./form";

/** `brought` gets the shape, and what is to be said of it. */
export function bringPanel(brought: (shape: Collection, notes: string[]) => void): HTMLElement {
  const said = h("p", { class: "wrong", role: "alert" });
  const wait = h("p", { role: "status" });
  async function take(ask: () => Promise<Brought>): Promise<void> {
    put(said);
    put(wait, t.waiting);
    try {
      const found = await ask();
      const sigma = found.sigma_ha;
      const measured = found.area_ha === undefined ? [] : [sigma ? t.shape.lapArea(say.bareArea(found.area_ha), say.area(sigma)) : say.area(found.area_ha)];
      brought(found.geojson, [...measured, ...found.notes]);
    } catch (error) {
      noteReach(error);
      put(said, reasonAndHint(error));
    } finally {
      put(wait);
    }
  }
  const file = fileField("boundary-file", t.shape.file, ".geojson,.json,.kml,.kmz,.zip,.gpkg", false, ([one]) => one && void take(() => home.readBoundary(one)));
  return h(
    "div",
    { class: "bring" },
    h("details", { open: true }, h("summary", {}, t.shape.fromFile), h("p", {}, t.shape.fileKinds), file),
    h("details", {}, h("summary", {}, t.shape.fromLap), lapForm(take)),
    h("details", {}, h("summary", {}, t.shape.typed), typedForm(said, brought)),
    wait,
    said,
  );
}

function lapForm(take: (ask: () => Promise<Brought>) => Promise<void>): Child {
  const day = h("input", { id: "lap-day", type: "date", required: true });
  const days = h("datalist", { id: "lap-days" });
  day.setAttribute("list", "lap-days");
  home.board(desk.get().season).then(
    (board) => {
      const known = [...new Set([...board.unplaced.days, ...board.paddocks.flatMap((p) => (p.last_day ? [p.last_day] : []))])];
      put(days, known.map((one) => h("option", { value: one })));
      day.value ||= board.unplaced.days.at(-1) ?? "";
      return undefined;
    },
    () => undefined, // the day can be typed all the same
  );
  return on(
    h("form", {}, h("p", {}, t.shape.lapWhat), h("p", { class: "field" }, h("label", { for: "lap-day" }, t.shape.lapDay), day, days), h("p", {}, h("button", { type: "submit", class: "button plain" }, t.shape.lapTake))),
    {
      submit: (event) => {
        event.preventDefault();
        void take(() => home.lapBoundary(Number(day.value.slice(0, 4)), day.value));
      },
    },
  );
}

function typedForm(said: HTMLElement, brought: (shape: Collection, notes: string[]) => void): Child {
  const area = h("textarea", { id: "typed-corners", rows: 5, spellcheck: "false", autocomplete: "off", placeholder: "49.73432, -106.21619" });
  const take = (): void => {
    const corners = typedCorners(area.value);
    put(said);
    if (!Array.isArray(corners)) put(said, t.shape.typedBad(corners.line));
    else if (corners.length < 3) put(said, t.shape.typedFew);
    else brought({ type: "FeatureCollection", features: [{ type: "Feature", geometry: polygon(corners), properties: {} }] }, []);
  };
  return h("div", {}, h("p", { class: "field" }, h("label", { for: "typed-corners" }, t.shape.typedHow), area), h("p", {}, button(t.shape.typedTake, take, { id: "typed-take" })));
}
