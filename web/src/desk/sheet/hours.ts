// Where the hours in the paddock went, and how long the rest takes.
import { h, type Child } from "../dom";
import * as say from "../say";
import type { Hours } from "../upshot";
import { t } from "../words";

const PARTS = ["sowing_h", "turning_h", "filling_h", "standing_h"] as const;
const hours = (count: number): string => (count === 0 ? t.hours.none : count < 1 / 60 ? t.hours.least : say.duration(Math.round(count * 60) * 60_000));

export function hoursPanel(found: Hours, rig: string | null | undefined): Child {
  const lost = Object.entries(found.lost).filter(([, part]) => part >= 0.005).toSorted(([, a], [, b]) => b - a);
  return h(
    "section",
    { class: "again" },
    h("h2", {}, t.hours.title),
    rig && h("p", {}, t.bins.ofRig(rig)),
    h("p", {}, t.hours.sum(hours(found.field_h), `${say.area(found.pace_ha_h)}/h`, say.percent(found.efficiency))),
    h("table", { class: "numbers" }, h("tbody", {}, PARTS.map((key) => h("tr", {}, h("th", { scope: "row" }, t.hours.parts[key]), h("td", {}, hours(found[key])), h("td", {}, say.percent(found[key] / found.field_h)))))),
    lost.length > 0 && h("p", {}, t.hours.lost(lost.map(([name, part]) => `${t.hours.lostTo[name] ?? name} ${say.percent(part)}`).join(", "))),
    found.rest_h !== null && h("p", {}, t.hours.rest(say.area(found.rest_ha), hours(found.rest_h), found.rest_spread_h ? hours(found.rest_spread_h) : "")),
  );
}
