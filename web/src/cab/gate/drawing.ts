// The paddock as a drawing: fence, sown ground, numbered patches, keep-outs, where one stands. North is
// up. States are told by rim, pattern and number; colour comes last.
import { Plane } from "../../core/plane";
import { boxOf } from "../../core/rings";
import type { Area, Polygon, Ring } from "../../core/words";
import { s } from "../dom";
import type { Sums } from "../sums";
import { t } from "../words";
import { PLATE, plates, type Placed, type Point, type Spot, type ToPage } from "./plates";

/** Size of the drawing, px at its smallest, and the room round the paddock. */
const WIDE = 330;
const MOST_HIGH = 300;
const ROOM = 22;

/** What is drawn of the ground; every area on one plane. */
export interface Shapes {
  readonly sown: Area;
  readonly twice: Area;
  readonly doubt: Area;
  readonly keep_out: Area;
  readonly bare: Area;
}

interface Frame {
  readonly high: number;
  readonly at: ToPage;
}

/** The ground without numbers; `whole` is the ground that all of it lies in. */
export function shapes(whole: Area, drawn: Shapes, label: string): SVGSVGElement {
  const frame = frameOf(whole);
  return sheet(frame, label, [...ground(frame.at, whole, drawn), shape(drawn.bare, "g-bare", frame.at), shape(whole, "g-fence", frame.at)]);
}

/** Draws; its plates stand in the order of the patches. */
export function drawing(sums: Sums, spots: readonly Spot[]): SVGSVGElement {
  const { net, keep_out, sown, twice, doubt } = sums.ground;
  const whole = [...net, ...keep_out];
  const frame = frameOf(whole);
  const { at, high } = frame;
  const here = hereOf(sums, at, high);
  return sheet(frame, t.gate.map(spots.length), [
    ...ground(at, net, { sown, twice, doubt, keep_out, bare: [] }),
    ...spots.map(({ patch }) => shape([patch.outline], patch.call === "can't tell" ? "g-bare g-unsure" : "g-bare", at)),
    shape(
      whole.map(([ring]): Polygon => (ring === undefined ? [] : [ring])),
      "g-fence",
      at,
    ),
    ...way(sums, at),
    ...plates(spots, at, WIDE, high, here).map(plate),
    here && me(here),
  ]);
}

/** The way through the patches: broken where the tool is up, whole where it is down. To look at, not to follow. */
function way({ going }: Sums, at: ToPage): SVGElement[] {
  if (going === null) return [];
  const { way: xy, tool_down } = going;
  const pieces: { d: string; down: boolean }[] = [];
  for (let i = 0; i < tool_down.length; i++) {
    const [x, y] = at(xy[2 * i] ?? 0, xy[2 * i + 1] ?? 0);
    const place = `${x.toFixed(1)} ${y.toFixed(1)}`;
    const last = pieces[pieces.length - 1];
    const down = tool_down[i] === 1;
    if (last !== undefined) last.d += `L${place}`;
    if (last === undefined || last.down !== down) pieces.push({ d: `M${place}`, down });
  }
  return pieces.map(({ d, down }) => s("path", { d, class: down ? "g-way g-sows" : "g-way" }));
}

function frameOf(whole: Area): Frame {
  const box = boxOf(outer(whole));
  const scale = Math.min((WIDE - 2 * ROOM) / Math.max(box.east - box.west, 1), (MOST_HIGH - 2 * ROOM) / Math.max(box.north - box.south, 1));
  const high = Math.max(120, Math.round((box.north - box.south) * scale + 2 * ROOM));
  const left = (WIDE - (box.east - box.west) * scale) / 2;
  const top = (high - (box.north - box.south) * scale) / 2;
  const at: ToPage = (x, y) => [left + (x - box.west) * scale, top + (box.north - y) * scale];
  return { high, at };
}

function sheet({ high }: Frame, label: string, drawn: readonly (SVGElement | null)[]): SVGSVGElement {
  return s("svg", { viewBox: `0 0 ${WIDE} ${high}`, class: "ground-map", role: "img", "aria-label": label }, s("defs", {}, hatch(), dots(), bricks()), drawn);
}

function shape(area: Area, cls: string, at: ToPage, fill?: string): SVGElement {
  return s("path", { d: pathOf(area, at), class: cls, fill });
}

function ground(at: ToPage, net: Area, { sown, twice, doubt, keep_out }: Shapes): SVGElement[] {
  return [
    shape(net, "g-net", at),
    shape(sown, "g-sown", at),
    shape(twice, "g-twice", at, "url(#g-hatch)"),
    shape(doubt, "g-doubt", at, "url(#g-dots)"),
    shape(keep_out, "g-out", at, "url(#g-bricks)"),
  ];
}

const outer = (area: Area): Ring[] => area.reduce<Ring[]>((all, [ring]) => (ring === undefined ? all : all.concat(ring)), []);

function pathOf(area: Area, at: ToPage): string {
  let d = "";
  for (const polygon of area) {
    for (const ring of polygon) {
      for (let i = 0; i + 1 < ring.length; i += 2) {
        const [x, y] = at(ring[i] ?? 0, ring[i + 1] ?? 0);
        d += `${i === 0 ? "M" : "L"}${x.toFixed(1)} ${y.toFixed(1)}`;
      }
      d += "Z";
    }
  }
  return d;
}

function plate({ spot: { number, patch }, tight, x, y, to }: Placed): SVGElement {
  return s(
    "g",
    { class: tight ? "g-plate g-tight" : "g-plate", "data-call": patch.call },
    s("path", { d: `M${x} ${y}L${to[0]} ${to[1]}` }),
    s("rect", { x: x - PLATE, y: y - PLATE, width: 2 * PLATE, height: 2 * PLATE, rx: 4 }),
    s("text", { x, y: y + 8, "text-anchor": "middle" }, number),
  );
}

/** Where one stands on the drawing, at its rim where that is outside. */
function hereOf({ here, lat0_deg, lon0_deg }: Sums, at: ToPage, high: number): Point | null {
  const plane = new Plane(lat0_deg, lon0_deg);
  if (!Number.isFinite(plane.lat0_deg + here[0] + here[1])) return null;
  const [x, y] = at(here[0], here[1]);
  return [Math.min(Math.max(x, 10), WIDE - 10), Math.min(Math.max(y, 10), high - 10)];
}

function me([cx, cy]: Point): SVGElement {
  return s("path", { class: "g-me", d: `M${cx} ${cy - 9}L${cx + 8} ${cy + 8}L${cx} ${cy + 3}L${cx - 8} ${cy + 8}Z` });
}

function hatch(): SVGElement {
  return s("pattern", { id: "g-hatch", width: 8, height: 8, patternUnits: "userSpaceOnUse" }, s("path", { d: "M0 0L8 8M8 0L0 8", class: "g-line" }));
}

function dots(): SVGElement {
  return s("pattern", { id: "g-dots", width: 6, height: 6, patternUnits: "userSpaceOnUse" }, s("circle", { cx: 2, cy: 2, r: 1.2, class: "g-dot" }));
}

function bricks(): SVGElement {
  return s("pattern", { id: "g-bricks", width: 12, height: 8, patternUnits: "userSpaceOnUse" }, s("path", { d: "M0 0H12M0 4H12M3 0V4M9 4V8", class: "g-dot-line" }));
}
