// The paddock sheet's map: one layer a state, patches that light up, and a mark for the time line.
import OlFeature from "ol/Feature";
import type { FeatureLike } from "ol/Feature";
import LineString from "ol/geom/LineString";
import Point from "ol/geom/Point";
import VectorLayer from "ol/layer/Vector";
import { fromLonLat } from "ol/proj";
import VectorSource from "ol/source/Vector";
import type { StyleLike } from "ol/style/Style";
import { isBoundary, isGate, keepOuts } from "../land";
import * as paint from "../map/paint";
import { createMap, fit, toMap } from "../map/view";
import type { Collection, LonLat } from "../nouns";
import { onTheme } from "../theme";
import type { Way } from "../upshot";

export type LayerName = "sown" | "twice" | "bare" | "doubt" | "keep-outs" | "runs" | "way-back";
export interface SheetMap {
  /** Shows a paddock's shape, and the ground where it is known. */
  load(shape: Collection, ground: Collection | null): void;
  /** The way through what is worth going back for; never steering. */
  goBack(way: Way["way"]): void;
  show(layers: ReadonlySet<LayerName>): void;
  light(patch: number | null, run: number | null, moveThere: boolean): void;
  /** Marks where the phone was, and the way it drove around then. */
  point(at: LonLat | null, way: readonly LonLat[]): void;
  whole(): void;
  close(): void;
}

const groups: Record<LayerName, string[]> = {
  sown: ["sown", "part"],
  twice: ["twice"],
  doubt: ["doubt"],
  "keep-outs": ["keep-outs", "letters", "unreachable"],
  runs: ["runs"],
  "way-back": ["going"],
  bare: ["sliver", "bare", "numbers"],
};

/** `picked` is told which patch was clicked on the map, or null. */
export function sheetMap(into: HTMLElement, picked: (patch: number | null) => void): SheetMap {
  const lit: { patch: number | null; run: number | null } = { patch: null, run: null };
  const layers = new Map<string, VectorLayer>();
  const layer = (name: string, style: StyleLike, more: { declutter?: boolean } = {}): void => {
    layers.set(name, new VectorLayer({ source: new VectorSource(), style, updateWhileAnimating: false, ...more }));
  };
  const isLit = (feature: FeatureLike): boolean => lit.patch !== null && feature.get("number") === lit.patch;
  layer("land", () => paint.landStyle());
  for (const state of ["sown", "part", "twice", "doubt", "unreachable"] as const) layer(state, paint.groundStyle(state));
  layer("sliver", () => paint.sliverStyle());
  layer("keep-outs", paint.groundStyle("keep-out"));
  layer("fence", () => paint.fenceStyle());
  layer("runs", (feature, resolution) => paint.runStyles(feature, resolution, lit.run !== null && feature.get("number") === lit.run));
  layer("bare", (feature) => (isLit(feature) ? paint.litStyles() : paint.bareStyles(feature.get("call") !== "can't tell")));
  layer("going", (feature) => paint.goingStyles(feature));
  layer("gates", () => paint.gateStyles());
  layer("letters", (feature) => paint.letterStyle(feature), { declutter: true });
  layer("numbers", (feature) => paint.numberStyle(feature, isLit(feature)), { declutter: true });
  layer("way", () => paint.wayStyles());
  layer("place", () => paint.placeStyles());

  const map = createMap(into, [...layers.values()]);
  const source = (name: string): VectorSource | null => layers.get(name)?.getSource() ?? null;
  const fill = (name: string, features: OlFeature[]): void => {
    source(name)?.clear(true);
    source(name)?.addFeatures(features);
  };
  const restyle = (...names: string[]): void => {
    for (const name of names) layers.get(name)?.changed();
  };
  const patches = (): VectorLayer[] => [layers.get("bare"), layers.get("numbers")].filter((l): l is VectorLayer => l !== undefined);
  map.on("click", (event) => {
    const found = map.forEachFeatureAtPixel(event.pixel, (feature) => feature.get("number") as number, {
      hitTolerance: 8,
      layerFilter: (l) => patches().includes(l as VectorLayer),
    });
    picked(found ?? null);
  });
  map.on("pointermove", (event) => {
    const over = !event.dragging && map.hasFeatureAtPixel(event.pixel, { hitTolerance: 4, layerFilter: (l) => patches().includes(l as VectorLayer) });
    into.classList.toggle("over", over);
  });
  const unlit = onTheme(() => {
    // patterns are made for one set of colours: they are made anew
    for (const state of ["sown", "part", "twice", "doubt", "unreachable"] as const) layers.get(state)?.setStyle(paint.groundStyle(state));
    layers.get("keep-outs")?.setStyle(paint.groundStyle("keep-out"));
    restyle(...layers.keys());
  });
  let fitted = false;
  const whole = (): void => {
    const extent = source("fence")?.getExtent();
    if (extent) fit(map, extent);
  };

  return {
    load(shape, ground) {
      const fence = toMap(shape.features.filter(isBoundary));
      fill("land", fence);
      fill("fence", fence);
      fill("gates", toMap(shape.features.filter(isGate)));
      const out = keepOuts(shape);
      const drawn = toMap(out.map(({ feature }) => feature));
      for (const [index, feature] of drawn.entries()) feature.setProperties({ letter: out[index]?.letter ?? "", hazard: out[index]?.hazard === true });
      fill("keep-outs", drawn);
      fill("letters", drawn);
      const all = ground ? toMap(ground) : [];
      for (const state of ["sown", "part", "twice", "doubt", "unreachable", "sliver"]) {
        fill(state, all.filter((feature) => feature.get("state") === state));
      }
      fill("runs", all.filter((feature) => feature.get("state") === "run"));
      const bare = all.filter((feature) => feature.get("state") === "bare");
      fill("bare", bare);
      // the largest come first, so that they keep their numbers where there is no room for all
      fill("numbers", bare.toSorted((a, b) => Number(a.get("number")) - Number(b.get("number"))));
      if (!fitted) whole();
      fitted = true;
    },
    goBack(way) {
      fill("going", way.map(({ line, tool_down }) => new OlFeature({ geometry: new LineString(line.map((at) => fromLonLat(at))), down: tool_down })));
    },
    show(names) {
      for (const [group, members] of Object.entries(groups)) {
        for (const name of members) layers.get(name)?.setVisible(names.has(group as LayerName));
      }
    },
    light(patch, run, moveThere) {
      lit.patch = patch;
      lit.run = run;
      restyle("bare", "numbers", "runs");
      if (!moveThere) return;
      const wanted = patch !== null ? ["bare", patch] : run !== null ? ["runs", run] : null;
      const extent = wanted && source(String(wanted[0]))?.getFeatures().find((f) => f.get("number") === wanted[1])?.getGeometry()?.getExtent();
      if (!extent) return;
      // enough ground round it to know where it is
      const [west = 0, south = 0, east = 0, north = 0] = extent;
      const room = Math.max(120, (east - west + north - south) / 3);
      fit(map, [west - room, south - room, east + room, north + room], true);
    },
    point(at, way) {
      fill("place", at ? [new OlFeature(new Point(fromLonLat(at)))] : []);
      fill("way", way.length > 1 ? [new OlFeature(new LineString(way.map((p) => fromLonLat(p))))] : []);
    },
    whole,
    close() {
      unlit();
      map.setTarget(undefined);
      map.dispose();
    },
  };
}
