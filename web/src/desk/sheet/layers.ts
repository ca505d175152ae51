// Which layers the map shows: each box carries its pattern, so the list is the legend too.
import { h, on } from "../dom";
import { swatch, type GroundState } from "../ink";
import type { KeepOut } from "../land";
import type { Tally } from "../nouns";
import * as say from "../say";
import { t } from "../words";
import type { LayerName } from "./map";

const KEY = "unsown-layers";
const ALL: readonly LayerName[] = ["sown", "twice", "bare", "doubt", "keep-outs", "way-back", "runs"];
const AT_FIRST: readonly LayerName[] = ["sown", "twice", "bare", "doubt", "keep-outs", "way-back"];
const pictures: Record<LayerName, GroundState | null> = { sown: "sown", twice: "twice", bare: "bare", doubt: "doubt", "keep-outs": "keep-out", "way-back": null, runs: null };

/** The layers that this browser shows; remembered from page to page. */
export function chosenLayers(): Set<LayerName> {
  const kept = localStorage.getItem(KEY)?.split(",");
  return new Set(kept ? ALL.filter((name) => kept.includes(name)) : AT_FIRST);
}

export function layerBoxes(tally: Tally | null, outs: readonly KeepOut[], shown: Set<LayerName>, changed: () => void): HTMLElement {
  const areas: Partial<Record<LayerName, number>> = tally
    ? { sown: tally.sown_ha, twice: tally.twice_ha, bare: tally.bare_ha, doubt: tally.doubt_ha, "keep-outs": tally.paddock.keep_out_ha }
    : {};
  const boxes = ALL.map((name) => {
    const box = h("input", { type: "checkbox", id: `layer-${name}`, checked: shown.has(name) });
    on(box, {
      change: () => {
        if (box.checked) shown.add(name);
        else shown.delete(name);
        localStorage.setItem(KEY, [...shown].join(","));
        changed();
      },
    });
    const picture = pictures[name];
    const hectares = areas[name];
    return h("label", { class: "layer" }, box, picture ? swatch(picture) : h("span", { class: `swatch ${name === "runs" ? "run-swatch" : "way-swatch"}`, "aria-hidden": "true" }), h("span", {}, t.layers[name], hectares !== undefined && h("span", { class: "number" }, ` ${say.area(hectares)}`)));
  });
  return h("fieldset", { class: "layers" }, h("legend", { class: "spoken" }, t.layers.title), h("div", { class: "layer-boxes" }, boxes), more(tally), letters(outs));
}

/** Patterns that have no box of their own. */
function more(tally: Tally | null): HTMLElement | null {
  if (!tally) return null;
  const rows: [GroundState, string][] = [];
  if (tally.part_ha >= 0.005) rows.push(["part", t.layers.part(say.area(tally.part_ha))]);
  if (tally.patches.some((p) => p.call === "can't tell")) rows.push(["cant-tell", t.layers.cantTell]);
  if (tally.unreachable_ha >= 0.005) rows.push(["unreachable", t.layers.unreachable(say.area(tally.unreachable_ha))]);
  if (!rows.length) return null;
  return h("ul", { class: "legend" }, rows.map(([state, text]) => h("li", {}, swatch(state), text)));
}

function letters(outs: readonly KeepOut[]): HTMLElement | null {
  if (!outs.length) return null;
  const seen = new Map(outs.map((out) => [out.letter, out]));
  return h("div", {}, h("ul", { class: "legend letters", "aria-label": t.layers["keep-outs"] }, [...seen.values()].map((out) => h("li", {}, h("span", { class: "letter" }, out.letter), ` ${out.name || out.kind}${out.hazard ? ` (${t.layers.hazard})` : ""}`))), h("p", { class: "under" }, t.layers.closer));
}
