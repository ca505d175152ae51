// A map of one paddock: its own ground and nothing behind it. North is up; it never turns.
import Map from "ol/Map";
import View from "ol/View";
import ScaleLine from "ol/control/ScaleLine";
import Zoom from "ol/control/Zoom";
import { isEmpty, type Extent } from "ol/extent";
import GeoJSON from "ol/format/GeoJSON";
import { defaults } from "ol/interaction/defaults";
import type VectorLayer from "ol/layer/Vector";
import type OlFeature from "ol/Feature";
import { h, s } from "../dom";
import type { Collection, Feature } from "../nouns";
import { desk } from "../state";
import { t } from "../words";
import "ol/ol.css";

const format = new GeoJSON({ dataProjection: "EPSG:4326", featureProjection: "EPSG:3857" });

/** GeoJSON features on the map's own projection. */
export const toMap = (shape: Collection | readonly Feature[]): OlFeature[] =>
  format.readFeatures({ type: "FeatureCollection", features: "features" in shape ? shape.features : shape });

/** A map's feature as GeoJSON: degrees to 7 decimals, as RFC 7946 winds them. */
export const fromMap = (feature: OlFeature): Feature =>
  format.writeFeatureObject(feature, { decimals: 7, rightHanded: true }) as unknown as Feature;

/** Makes a map in `into`, which has to be on the page before it is drawn. */
export function createMap(into: HTMLElement, layers: VectorLayer[]): Map {
  into.append(h("div", { class: "north", role: "img", "aria-label": t.map.north }, s("svg", { viewBox: "0 0 20 34", width: 20, height: 34, "aria-hidden": "true" }, s("path", { d: "M10 1L18 18L10 14L2 18Z" }), s("text", { x: 10, y: 33, "text-anchor": "middle" }, "N"))));
  into.tabIndex = 0;
  into.setAttribute("role", "application");
  return new Map({
    target: into,
    layers,
    view: new View({ enableRotation: false, maxZoom: 23, minZoom: 3, constrainResolution: false }),
    // wheel and drag move the map only after it was clicked: until then they move the page
    interactions: defaults({ onFocusOnly: true, altShiftDragRotate: false, pinchRotate: false }),
    controls: [
      new Zoom({ zoomInTipLabel: t.map.closer, zoomOutTipLabel: t.map.farther }),
      new ScaleLine({ units: desk.get().settings.units === "ac" ? "us" : "metric", minWidth: 80 }),
    ],
  });
}

/** Shows the whole of `extent`. */
export function fit(map: Map, extent: Extent, slowly = false): void {
  if (isEmpty(extent)) return;
  map.getView().fit(extent, { padding: [28, 28, 62, 28], maxZoom: 20, ...(slowly && !calm() ? { duration: 250 } : {}) });
}

/** People who asked their computer for less movement get none. */
export const calm = (): boolean => matchMedia("(prefers-reduced-motion: reduce)").matches;
