// The paddock's ground in four numbers, and the same area told by three independent ways.
import { h, type Child } from "../dom";
import { swatch, type GroundState } from "../ink";
import type { Tally, Work } from "../nouns";
import * as say from "../say";
import { t } from "../words";

export function tallyRow(tally: Tally): HTMLElement {
  const cells: [GroundState, string, string, string][] = [
    ["sown", t.ground.sown, say.area(tally.sown_ha), t.ground.of(say.area(tally.paddock.net_ha))],
    ["bare", t.ground.bare, say.area(tally.bare_ha), t.ground.band(say.band(tally.bare_low_ha, tally.bare_high_ha))],
    ["doubt", t.ground.doubt, say.area(tally.doubt_ha), t.ground.doubtMeans],
    ["twice", t.ground.twice, say.area(tally.twice_ha), t.ground.twiceMeans],
  ];
  return h(
    "dl",
    { class: "tally" },
    cells.map(([state, name, value, under]) => h("div", { class: "tally-cell" }, h("dt", {}, swatch(state, 24, 16), ` ${name}`), h("dd", {}, h("span", { class: "big" }, value), h("span", { class: "under" }, under)))),
  );
}

/** Above this, one of the three is wrong and the farmer should know which could be. */
const AGREE = 0.04;

export function areaCheck(check: NonNullable<Work["area_check"]>): Child {
  const rows: [string, number | null, string][] = [
    [t.check.map, check.map_ha, t.check.mapHow],
    [t.check.distance, check.distance_ha, check.distance_ha === null ? t.check.distanceNeeds : t.check.distanceHow],
    [t.check.product, check.product_ha, check.product_ha === null ? t.check.productNeeds : t.check.productHow],
  ];
  const known = rows.map(([, ha]) => ha).filter((ha): ha is number => ha !== null && ha > 0);
  const largest = Math.max(...known, 0);
  const apart = known.length > 1 ? (largest - Math.min(...known)) / largest : 0;
  return h(
    "section",
    { "aria-labelledby": "check-title" },
    h("h2", { id: "check-title" }, t.check.title),
    h("p", {}, known.length < 2 ? t.check.one : apart > AGREE ? t.check.apart(Math.round(apart * 100)) : t.check.agree(Math.max(1, Math.round(apart * 100)))),
    h(
      "table",
      { class: "numbers" },
      h("tbody", {}, rows.map(([name, ha, how]) => h("tr", {}, h("th", { scope: "row" }, name, h("span", { class: "under" }, how)), h("td", {}, ha === null ? t.check.notGiven : say.area(ha))))),
    ),
  );
}

/** What was put right, assumed or left out, in the words of the engine. */
export function remarks(tally: Tally): Child {
  const left = Object.entries(tally.dropped).map(([why, count]) => `${say.count(count)} ${why}`);
  const lines = [...tally.notes, ...(left.length ? [t.ground.left(left.join(", "))] : [])];
  if (!lines.length) return null;
  return h("details", {}, h("summary", {}, t.ground.remarks), h("ul", { class: "lines" }, lines.map((line) => h("li", {}, line))));
}
