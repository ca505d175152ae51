// How each kind of ground looks on the map, from the same colours and patterns as everywhere else.
import type { FeatureLike } from "ol/Feature";
import Point from "ol/geom/Point";
import type Geometry from "ol/geom/Geometry";
import LineString from "ol/geom/LineString";
import MultiLineString from "ol/geom/MultiLineString";
import MultiPolygon from "ol/geom/MultiPolygon";
import Polygon from "ol/geom/Polygon";
import Circle from "ol/style/Circle";
import Fill from "ol/style/Fill";
import RegularShape from "ol/style/RegularShape";
import Stroke from "ol/style/Stroke";
import Style from "ol/style/Style";
import Text from "ol/style/Text";
import { ink, paint, type GroundState, type Ink } from "../ink";

/** How far below its place a hazard's letter stands, px. */
const BELOW = 24;
const FONT = "700 15px system-ui, sans-serif";
const ratio = (): number => Math.max(1, devicePixelRatio);

const stroke = (color: string, width: number, lineDash?: number[]): Stroke =>
  new Stroke({ color, width, lineJoin: "round", ...(lineDash ? { lineDash } : {}) });

/** Ground of one state; sown and part need no rim, keep-outs do. */
export function groundStyle(state: GroundState): Style[] {
  const colours = ink();
  const fill = new Fill({ color: paint(state, colours, ratio()) });
  if (state === "keep-out" || state === "unreachable") return [new Style({ fill, stroke: stroke(colours.ink, 1.5) })];
  return [new Style({ fill })];
}

/** A bare patch: its rim lies outside its outline, so that a strip a metre wide still shows colour. */
export function bareStyles(sure: boolean): Style[] {
  const colours = ink();
  if (!sure) return [new Style({ fill: new Fill({ color: colours.ground }), stroke: stroke(colours.ink, 2.5, [4, 5]) })];
  return [
    new Style({ stroke: stroke(colours.rim, 6), zIndex: 1 }),
    new Style({ fill: new Fill({ color: colours.bare }), zIndex: 2 }),
  ];
}

/** Narrow bare ground that is too small to list. */
export const sliverStyle = (): Style => new Style({ fill: new Fill({ color: ink().bare }) });

/** A patch's number, in the patch or beside it. */
export function numberStyle(feature: FeatureLike, lit: boolean): Style {
  const colours = ink();
  const back = feature.get("call") === "can't tell" ? colours.ground : colours.disc;
  const front = feature.get("call") === "can't tell" ? colours.ink : colours.number;
  return label(String(feature.get("number")), inside(feature), lit ? colours.ink : back, lit ? colours.ground : front, lit ? colours.ground : edgeOf(colours));
}

/** A keep-out's letter. That of a hazard always shows, below its place: a patch beside a pole has its number there. */
export const letterStyle = (feature: FeatureLike): Style =>
  label(String(feature.get("letter")), inside(feature), ink().ground, ink().ink, ink().ink, feature.get("hazard") === true ? { offsetY: BELOW, declutterMode: "obstacle" } : {});

// at night the rim of a patch is dark on a dark ground: the number's plate takes the ink instead
const edgeOf = (colours: Ink): string => (colours.rim === colours.ground ? colours.ink : colours.rim);

function label(text: string, at: Point | undefined, back: string, front: string, edge: string, how: { offsetY?: number; declutterMode?: "obstacle" } = {}): Style {
  return new Style({
    ...(at ? { geometry: at } : {}),
    text: new Text({
      text,
      font: FONT,
      fill: new Fill({ color: front }),
      backgroundFill: new Fill({ color: back }),
      backgroundStroke: stroke(edge, 1.5),
      padding: [2, 5, 1, 5],
      ...how,
    }),
    zIndex: 5,
  });
}

/** The one patch that is looked at. */
export function litStyles(): Style[] {
  const colours = ink();
  return [new Style({ stroke: stroke(colours.ground, 12), zIndex: 3 }), new Style({ stroke: stroke(colours.ink, 8), zIndex: 4 }), new Style({ fill: new Fill({ color: colours.bare }), stroke: stroke(colours.ground, 2), zIndex: 5 })];
}

export const landStyle = (): Style => new Style({ fill: new Fill({ color: ink().ground }) });
export const fenceStyle = (): Style => new Style({ stroke: stroke(ink().ink, 2.5) });

/** From this many metres a pixel on, arrows would only crowd. */
const ARROWS_M = 1.2;

/** A run: a thin line with an arrow at its end; the one looked at is thick. */
export function runStyles(feature: FeatureLike, resolution: number, lit: boolean): Style[] {
  const colours = ink();
  const line = new Style({ stroke: stroke(colours.ink, lit ? 5 : 1), zIndex: lit ? 2 : 0 });
  const styles = lit ? [new Style({ stroke: stroke(colours.ground, 9), zIndex: 1 }), line] : [line];
  const geometry = feature.getGeometry();
  const path = geometry instanceof LineString ? geometry.getCoordinates() : geometry instanceof MultiLineString ? (geometry.getCoordinates().at(-1) ?? []) : [];
  const [end, before] = [path.at(-1), path.at(-2)];
  if (!end || !before || (resolution > ARROWS_M && !lit)) return styles;
  const rotation = Math.atan2((end[0] ?? 0) - (before[0] ?? 0), (end[1] ?? 0) - (before[1] ?? 0));
  const image = new RegularShape({ points: 3, radius: lit ? 10 : 6, rotation, fill: new Fill({ color: colours.ink }), stroke: stroke(colours.ground, 1) });
  return [...styles, new Style({ geometry: new Point(end), image, zIndex: lit ? 3 : 1 })];
}

/** Where the phone was at the moment that the time line points at. */
export function placeStyles(): Style[] {
  const colours = ink();
  return [
    new Style({ image: new Circle({ radius: 11, fill: new Fill({ color: colours.ground }), stroke: stroke(colours.ink, 3) }) }),
    new Style({ image: new Circle({ radius: 4, fill: new Fill({ color: colours.ink }) }) }),
  ];
}

/** A gate: two posts and the gap between them. */
export function gateStyles(): Style[] {
  const colours = ink();
  const post = (x: number): Style => new Style({ image: new RegularShape({ points: 4, radius: 7, angle: Math.PI / 4, displacement: [x, 0], fill: new Fill({ color: colours.ground }), stroke: stroke(colours.ink, 3) }) });
  return [post(-9), post(9)];
}

/** The way driven while a question or a change is looked at. */
export function wayStyles(): Style[] {
  const colours = ink();
  return [new Style({ stroke: stroke(colours.ground, 8) }), new Style({ stroke: stroke(colours.ink, 4, [8, 7]) })];
}

/** The way through what is worth going back for: solid where the tool is down, thin and dashed between. */
export function goingStyles(feature: FeatureLike): Style[] {
  const colours = ink();
  if (feature.get("down") === true) return [new Style({ stroke: stroke(colours.ground, 8), zIndex: 1 }), new Style({ stroke: stroke(colours.ink, 4), zIndex: 2 })];
  return [new Style({ stroke: stroke(colours.ground, 5) }), new Style({ stroke: stroke(colours.ink, 1.8, [3, 6]) })];
}

/** A point inside the largest part of a feature, for its label. */
function inside(feature: FeatureLike): Point | undefined {
  const geometry = feature.getGeometry() as Geometry | undefined;
  if (geometry instanceof Polygon) return new Point(geometry.getInteriorPoint().getCoordinates().slice(0, 2));
  if (!(geometry instanceof MultiPolygon)) return undefined;
  const largest = geometry.getPolygons().toSorted((a, b) => b.getArea() - a.getArea())[0];
  return largest && new Point(largest.getInteriorPoint().getCoordinates().slice(0, 2));
}
