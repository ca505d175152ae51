// Rate tests: numbers go in, the formula with them comes out beside the answer.
import { fieldRate, plantsM2, plantsRate, survival, tray, trayArea } from "../../core/rate";
import { choices, choose } from "../choices";
import { button, h, lineBox, outcome, put, type Child } from "../dom";
import { type Page, pageOf } from "../route";
import { unit } from "../say";
import { backButton } from "../shell";
import { cab, keeper } from "../state";
import { t } from "../words";
import { numberOf } from "./prices";

type Values<K extends string> = Readonly<Record<K, number>>;

/** A number without noughts that say nothing. */
const plain = (value: number, places = 4): string => String(Number(value.toFixed(places)));
const rate = (kg_ha: number): string => t.rates.kg_ha(kg_ha, unit() === "ac");

/** A form whose answer stands under it as soon as every number is there; `optional` ones may be missing. */
function form<K extends string>(id: string, names: Readonly<Record<K, string>>, first: Partial<Record<NoInfer<K>, number>>, optional: readonly NoInfer<K>[], answer: (values: Values<K>) => readonly Child[]): HTMLElement {
  const keys = Object.keys(names) as K[];
  const out = h("div", { class: "answer", role: "status", id: `${id}-answer` });
  const fields = keys.map((key) => {
    const start = first[key];
    const field = lineBox(`${id}-${key}`, 9, { inputmode: "decimal", value: start === undefined ? "" : plain(start) });
    field.addEventListener("input", () => show());
    return { key, field };
  });
  const show = (): void => {
    const values = {} as Record<K, number>;
    let [begun, whole] = [false, true];
    for (const { key, field } of fields) {
      const value = numberOf(field.value);
      begun = begun || field.value !== "";
      if (value !== null && value > 0) values[key] = value;
      else if (optional.indexOf(key) < 0 || field.value !== "") whole = false;
    }
    put(out, ...(whole ? answer(values) : begun ? [h("p", {}, t.rates.wrong)] : []));
  };
  show();
  return h("section", {}, fields.map(({ key, field }) => h("div", {}, h("label", { for: field.id }, names[key]), field)), out);
}

export function ratesPage(): Page {
  const said = outcome();
  const tool = cab.get().pack?.rigs[0]?.chain[0]?.tool ?? null;
  let last = Number.NaN;
  let wheel_m = Number.NaN;
  const take = (kg_ha: number): Child[] =>
    (["seed", "fert"] as const).map((product) =>
      button(t.rates.take[product], () => {
        choose({ prices: { ...choices.get().prices, [`${product}_kg_ha`]: Number(kg_ha.toFixed(1)) } }, keeper());
        put(said, t.rates.taken(rate(kg_ha)));
      }),
    );
  const trayed = form("tray", t.rates.tray.fields, tool === null ? {} : { width_m: tool.width_m }, ["second", "third"], (v) => {
    const area_ha = trayArea(v.turns, v.wheel_m, v.width_m);
    const catches = [v.first, v.second, v.third].filter((kg) => kg > 0);
    const found = tray(catches, area_ha);
    [last, wheel_m] = [found.rate_kg_ha, v.wheel_m];
    return [
      h("p", {}, t.rates.tray.area(plain(v.turns), plain(v.wheel_m), plain(v.width_m), plain(area_ha))),
      h("p", { class: "large" }, t.rates.tray.rate(plain(found.rate_kg_ha * area_ha, 3), plain(area_ha), rate(found.rate_kg_ha))),
      catches.length < 2 ? null : h("p", {}, t.rates.tray.spread(plain(found.cv * 100, 1), found.again)),
      ...take(found.rate_kg_ha),
    ];
  });
  const driven = form("field", t.rates.field.fields, {}, [], ({ turns }) => {
    if (!(last > 0)) return [h("p", {}, t.rates.wrong)];
    const really = fieldRate(last, turns, wheel_m);
    return [h("p", { class: "large" }, t.rates.field.rate(plain(last, 1), plain(turns), plain(wheel_m), rate(really))), ...take(really)];
  });
  const wanted = form("plants", t.rates.plants.fields, {}, [], ({ plants, seed_g, germination, establishment }) => {
    const part = (germination * establishment) / 1e4;
    const kg_ha = plantsRate(plants, seed_g, part);
    return [h("p", { class: "large" }, t.rates.plants.rate(plain(plants), plain(seed_g), plain(part), rate(kg_ha))), ...take(kg_ha).slice(0, 1)];
  });
  const spacing = tool === null || tool.spacing_m === null ? {} : { spacing_cm: tool.spacing_m * 100 };
  const came = form("count", t.rates.count.fields, spacing, ["rate", "seed_g"], ({ plants, row_m, spacing_cm, rate: sown, seed_g }) => {
    const stand = plantsM2(plants, row_m, spacing_cm / 100);
    const known = sown > 0 && seed_g > 0;
    return [
      h("p", { class: "large" }, t.rates.count.stand(plain(plants), plain(row_m), plain(spacing_cm / 100), plain(stand, 1))),
      known ? h("p", {}, t.rates.count.came(plain(stand, 1), plain(seed_g), plain(sown), plain(survival(stand, sown, seed_g) * 100, 0))) : null,
    ];
  });
  const part = (title: string, what: string, made: HTMLElement): Child[] => [h("h2", {}, title), h("p", {}, what), made];
  return pageOf(t.rates.title, [
    h("p", {}, t.stand.trial.people),
    ...part(t.rates.tray.title, t.rates.tray.what, trayed),
    ...part(t.rates.field.title, t.rates.field.what, driven),
    ...part(t.rates.plants.title, t.rates.plants.what, wanted),
    ...part(t.rates.count.title, t.rates.count.what, came),
    said,
    backButton(),
  ]);
}
