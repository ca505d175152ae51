// The map of the shape page: pieces are drawn, their corners dragged; everything snaps to everything.
import OlFeature from "ol/Feature";
import LineString from "ol/geom/LineString";
import Point from "ol/geom/Point";
import Draw from "ol/interaction/Draw";
import Modify from "ol/interaction/Modify";
import Snap from "ol/interaction/Snap";
import VectorLayer from "ol/layer/Vector";
import { fromLonLat, toLonLat } from "ol/proj";
import VectorSource from "ol/source/Vector";
import { getArea } from "ol/sphere";
import Style, { type StyleLike } from "ol/style/Style";
import Stroke from "ol/style/Stroke";
import { ink } from "../ink";
import * as paint from "../map/paint";
import { createMap, fit, fromMap, toMap } from "../map/view";
import type { Collection, Geometry, LonLat } from "../nouns";
import { onTheme } from "../theme";
import { keepOuts } from "../land";
import { collectionOf, type Draft, type Piece } from "./draft";

export type Tool = "boundary" | "round" | "spot" | "line" | "gate";
export interface Drawn {
  geometry: Geometry | null;
  points: LonLat[];
}
export interface Editor {
  load(draft: Draft, chosen: number | null): void;
  neighbours(shapes: readonly Collection[]): void;
  /** Begins to draw; what was drawn is told to `drawn`. Null ends it. */
  draw(tool: Tool | null): void;
  look(at: LonLat | null): void;
  whole(): void;
  centre(at: LonLat): void;
  /** About how large a piece is, hectares, on a sphere: within half a percent. */
  about(piece: Piece): number;
  close(): void;
}

export function createEditor(into: HTMLElement, reshaped: (id: number, geometry: Geometry) => void, drawn: (tool: Tool, what: Drawn) => void): Editor {
  const layer = (style: StyleLike): VectorLayer => new VectorLayer({ source: new VectorSource(), style });
  const beside = layer(() => new Style({ stroke: new Stroke({ color: ink().ink, width: 1.5, lineDash: [6, 5] }) }));
  const land = layer(() => [paint.landStyle(), paint.fenceStyle()]);
  const outs = layer((feature) => [...paint.groundStyle("keep-out"), ...(feature.get("chosen") ? [new Style({ stroke: new Stroke({ color: ink().ink, width: 4 }) })] : []), paint.letterStyle(feature)]);
  const gates = layer(() => paint.gateStyles());
  const spotted = layer(() => paint.placeStyles());
  const map = createMap(into, [beside, land, outs, gates, spotted]);
  const sources = [land, outs, gates].map((one) => one.getSource()).filter((one): one is VectorSource => one !== null);
  const modifies = sources.map((source) => {
    const modify = new Modify({ source });
    modify.on("modifyend", (event) => {
      for (const feature of event.features.getArray()) {
        const geometry = fromMap(feature as OlFeature).geometry;
        if (geometry && feature.get("touched") !== feature.getGeometry()?.getRevision()) reshaped(Number(feature.get("piece")), geometry);
      }
    });
    map.addInteraction(modify);
    return modify;
  });
  const snaps = [...sources, beside.getSource()].filter((s): s is VectorSource => s !== null).map((source) => new Snap({ source, pixelTolerance: 12 }));
  for (const snap of snaps) map.addInteraction(snap);
  let drawing: Draw | null = null;
  const unlit = onTheme(() => {
    for (const one of [beside, land, outs, gates, spotted]) one.changed();
  });

  function draw(tool: Tool | null): void {
    if (drawing) map.removeInteraction(drawing);
    drawing = null;
    for (const modify of modifies) modify.setActive(tool === null);
    into.classList.toggle("drawing", tool !== null);
    if (tool === null) return;
    const kind = tool === "spot" || tool === "gate" ? "Point" : tool === "line" ? "LineString" : "Polygon";
    const made = new Draw({ type: kind, snapTolerance: 12, stopClick: true });
    made.on("drawend", (event) => {
      const geometry = event.feature.getGeometry();
      const points = geometry instanceof Point ? [geometry.getCoordinates()] : geometry instanceof LineString ? geometry.getCoordinates() : [];
      // the map is still in the middle of its own event
      setTimeout(() => {
        draw(null);
        drawn(tool, { geometry: fromMap(event.feature).geometry, points: points.map((p) => toLonLat(p) as LonLat) });
      });
    });
    drawing = made;
    // snapping has to see the pointer before drawing does: what is added last sees it first
    for (const snap of snaps) map.removeInteraction(snap);
    map.addInteraction(made);
    for (const snap of snaps) map.addInteraction(snap);
    into.focus();
  }
  const whole = (): void => {
    const extent = [land, outs, beside].map((one) => one.getSource()?.getExtent()).find((one) => one && Number.isFinite(one[0]));
    if (extent) fit(map, extent);
  };
  return {
    load(draft, chosen) {
      for (const source of sources) source.clear(true);
      const letters = keepOuts(collectionOf(draft)).map((out) => out.letter);
      for (const piece of draft.pieces) {
        const [feature] = toMap([{ type: "Feature", geometry: piece.geometry, properties: {} }]);
        if (!feature) continue;
        feature.set("piece", piece.id);
        if (!piece.boundary && !piece.gate) feature.set("letter", letters.shift() ?? "");
        feature.set("chosen", piece.id === chosen);
        feature.set("touched", feature.getGeometry()?.getRevision());
        sources[piece.boundary ? 0 : piece.gate ? 2 : 1]?.addFeature(feature);
      }
    },
    neighbours(shapes) {
      beside.getSource()?.clear();
      for (const shape of shapes) beside.getSource()?.addFeatures(toMap(shape));
    },
    draw,
    look(at) {
      spotted.getSource()?.clear();
      if (at) spotted.getSource()?.addFeature(new OlFeature(new Point(fromLonLat(at))));
    },
    whole,
    centre(at) {
      map.getView().setCenter(fromLonLat(at));
      map.getView().setZoom(15);
    },
    about(piece) {
      const geometry = toMap([{ type: "Feature", geometry: piece.geometry, properties: {} }])[0]?.getGeometry();
      return geometry ? getArea(geometry) / 1e4 : 0;
    },
    close() {
      unlit();
      map.setTarget(undefined);
      map.dispose();
    },
  };
}
