// The gates of a paddock as a list: each with its name and its place, which can be typed too.
import { button, h, on, type Child } from "../dom";
import type { Geometry, LonLat } from "../nouns";
import { t } from "../words";
import type { Draft, Piece } from "./draft";
import { round7, typedCorners } from "./form";

export interface GateActs {
  add(at: LonLat): void;
  change(id: number, change: Partial<Piece>): void;
  remove(id: number): void;
  wrong(text: string): void;
}

/** A place as the geometry of a gate. */
export const point = ([lon, lat]: LonLat): Geometry => ({ type: "Point", coordinates: [round7(lon), round7(lat)] });

export function gateList(draft: Draft, acts: GateActs): Child[] {
  const gates = draft.pieces.filter((piece) => piece.gate);
  const typed = h("input", { id: "gate-typed", type: "text", autocomplete: "off", placeholder: "49.73432, -106.21619" });
  const add = (): void => {
    const at = placeIn(typed.value);
    if (at === null) acts.wrong(t.shape.gateBad);
    else acts.add(at);
  };
  return [
    h("p", {}, gates.length ? t.shape.gateWhich : t.shape.noGates),
    gates.length > 0 && h("ul", { class: "lines" }, gates.map((piece, index) => h("li", {}, row(piece, index + 1, acts)))),
    h("p", { class: "field" }, h("label", { for: "gate-typed" }, t.shape.gateTyped), typed),
    h("p", {}, button(t.shape.gateAdd, add, { id: "gate-add" })),
  ];
}

function row(piece: Piece, number: number, acts: GateActs): Child[] {
  const [lon, lat] = piece.geometry.coordinates as LonLat;
  const name = h("input", { id: `gate-name-${piece.id}`, type: "text", autocomplete: "off", value: piece.name });
  const place = h("input", { id: `gate-at-${piece.id}`, type: "text", autocomplete: "off", value: `${lat.toFixed(6)}, ${lon.toFixed(6)}` });
  on(name, { change: () => acts.change(piece.id, { name: name.value }) });
  on(place, {
    change: () => {
      const at = placeIn(place.value);
      if (at === null) acts.wrong(t.shape.gateBad);
      else acts.change(piece.id, { geometry: point(at) });
    },
  });
  return [
    h("p", { class: "field" }, h("label", { for: name.id }, t.shape.gateName(number)), name),
    h("p", { class: "field" }, h("label", { for: place.id }, t.shape.gatePlace(number)), place),
    button(t.shape.gateRemove(number), () => acts.remove(piece.id), { id: `gate-remove-${piece.id}` }),
  ];
}

/** One place typed as latitude and longitude; null where it is none. */
function placeIn(text: string): LonLat | null {
  const found = typedCorners(text);
  return Array.isArray(found) && found.length === 1 ? (found[0] ?? null) : null;
}
