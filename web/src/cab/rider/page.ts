// For a phone that only looks: the ground as home knew it when the pack was fetched. There is no pad.
import { Plane } from "../../core/plane";
import { areaOf } from "../../core/rings";
import type { Area, Polygon, Ring } from "../../core/words";
import type { GroundJson, PackPaddock } from "../../carry/pack";
import { button, h, put, type Child } from "../dom";
import { shapes } from "../gate/drawing";
import type { Page } from "../route";
import { area, size } from "../say";
import { backButton } from "../shell";
import { cab } from "../state";
import { t } from "../words";

/** The areas of a state, in longitude and latitude; what cannot be read as ground is left out. */
export function statesOf(ground: GroundJson, state: string): Area {
  const out: Polygon[] = [];
  for (const { geometry, properties } of ground.features) {
    if (properties["state"] !== state) continue;
    const parts = geometry.type === "Polygon" ? [geometry.coordinates] : geometry.type === "MultiPolygon" ? (geometry.coordinates as unknown[]) : [];
    for (const part of parts) out.push((part as number[][][]).map(ringOf));
  }
  return out;
}

function ringOf(points: readonly (readonly number[])[]): Ring {
  const flat: number[] = [];
  points.slice(0, -1).forEach(([lon, lat]) => flat.push(lon ?? Number.NaN, lat ?? Number.NaN));
  return Float64Array.from(flat);
}

export function riderPage(): Page {
  const view = h("div", {});
  const show = (paddock: PackPaddock): void => put(view, ...sheet(paddock));
  const body = h("div", { class: "page" }, h("h1", {}, t.more.rider.title), h("p", {}, t.more.rider.first), h("p", {}, t.more.rider.seat), view);
  const close = cab.watch(["pack"], ({ pack }) => {
    const [first] = pack?.paddocks ?? [];
    if (pack === null || first === undefined) return put(view, h("p", { class: "large" }, t.more.rider.none));
    const sown = pack.paddocks.find(({ ground }) => ground !== null);
    show(sown ?? first);
  });
  const choosing = h("div", { class: "stack" });
  for (const paddock of cab.get().pack?.paddocks ?? []) choosing.appendChild(button(paddock.name, () => show(paddock)));
  if (choosing.childNodes.length > 1) body.appendChild(choosing);
  body.appendChild(backButton());
  return { title: t.more.rider.title, body, close };
}

function sheet({ name, land, net_ha, ground }: PackPaddock): Child[] {
  const when = cab.get().pack?.fetched_ms ?? 0;
  const title = h("h2", {}, name);
  if (ground === null || land.area === null) return [title, h("p", {}, t.more.rider.unsown)];
  const [lon, lat]: [number[], number[]] = [[], []];
  for (const [ring] of land.area) ring?.forEach((value, i) => (i % 2 === 0 ? lon : lat).push(value));
  const plane = Plane.around(lon, lat);
  const on = (state: string): Area => plane.areaToXy(statesOf(ground, state));
  const bare = on("bare");
  const ha = (found: Area): number => areaOf(found) / 1e4;
  const sown = on("sown");
  const doubt = ha(on("doubt"));
  return [
    title,
    shapes(plane.areaToXy(land.area), { sown, twice: on("twice"), doubt: on("doubt"), keep_out: on("keep-out"), bare }, t.more.rider.map),
    h("p", { class: "large" }, t.more.rider.sown(area(ha(sown)), area(net_ha))),
    h("p", {}, t.more.rider.bare(bare.length, size(areaOf(bare)))),
    doubt < 0.005 ? null : h("p", {}, t.more.rider.doubt(area(doubt))),
    h("p", {}, t.more.rider.asOf(t.moment(when))),
  ];
}
