// Planning figures by formula: diesel, what a bin holds, fertiliser, turns at the end of a run. Each stands with
// its formula, where that is from, and how far off it may be.
import { T_M3, weightT, type Crop } from "../../core/bulk";
import { atLoadLH, averageLH, litresHa, SPREAD } from "../../core/fuel";
import { fishtail, turn, type Turn } from "../../core/headland";
import { ELEMENT, PRODUCTS, nutrientsKgHa, twoProductsKgHa, type Percent } from "../../core/nutrient";
import { h } from "../dom";
import { above, known, line, sums } from "../rates/formula";
import type { Page } from "../route";
import * as say from "../say";
import { t } from "../words";

export function planningPage(): Page {
  return {
    title: t.planning.title,
    body: h("div", { class: "page" }, h("h1", {}, t.planning.title), h("p", {}, t.planning.what), h("div", { class: "halves" }, [diesel(), bin(), brings(), two(), turns()])),
  };
}

/** Two figures: no planning figure is worth more. */
const rough = (value: number): string => say.count(Number(value.toPrecision(2)));
const spread = (value: number, part: number): string => t.planning.between(rough(value), rough(value * (1 - part)), rough(value * (1 + part)));

function diesel(): HTMLElement {
  const p = t.planning.diesel;
  return sums(p.title, [["kw", p.kw, p.kwWhy], ["load", p.load, p.loadWhy], ["pace", p.pace], ["tank", p.tank]], (v) => {
    const [kw, load, pace, tank] = [above(v["kw"]), above(v["load"]) / 100, above(v["pace"]), above(v["tank"])];
    if (!known(kw) || load > 1) return null;
    const hour = known(load) ? atLoadLH(kw, load) : averageLH(kw);
    return [
      line(p.hour(spread(hour, SPREAD)), known(load) ? p.loadHow : p.yearHow),
      known(pace) && line(p.hectare(spread(litresHa(hour, pace), SPREAD)), p.hectareHow),
      known(tank) && line(p.lasts(rough(tank / hour), known(pace) ? say.roughly(tank / litresHa(hour, pace)) : ""), p.lastsHow),
    ];
  });
}

/** A factsheet's weights are good to so much, part. */
const BULK_SPREAD = 0.05;

function bin(): HTMLElement {
  const p = t.planning.bin;
  return sums(p.title, [["crop", p.crop, Object.keys(T_M3)], ["volume", p.volume], ["sow", p.rate]], (v) => {
    const [crop, volume, rate] = [v["crop"] as Crop, above(v["volume"]), above(v["sow"])];
    if (!known(volume)) return null;
    const tonnes = weightT(volume, crop);
    return [line(p.holds(spread(tonnes, BULK_SPREAD)), p.how(String(T_M3[crop]))), known(rate) && line(p.sows(say.roughly((1000 * tonnes) / rate)), p.sowsHow)];
  });
}

const brought = (percent: Percent, rate: number): string =>
  Object.entries(nutrientsKgHa(percent, rate))
    .map(([name, kg]) => t.planning.fertiliser.nutrient(name, say.rate(kg, "kg"), ELEMENT[name] === undefined ? null : say.rate(kg * ELEMENT[name], "kg")))
    .join(", ");

function brings(): HTMLElement {
  const p = t.planning.fertiliser;
  return sums(p.one, [["product", p.product, Object.keys(PRODUCTS)], ["rate", p.rate]], (v) => {
    const [percent, rate] = [PRODUCTS[v["product"] ?? ""], above(v["rate"])];
    return percent === undefined || !known(rate) ? null : [line(brought(percent, rate), p.oneHow(Object.entries(percent).map(([name, part]) => `${part} % ${name}`).join(", ")))];
  });
}

const withBy = (by: string): string[] => Object.keys(PRODUCTS).filter((name) => PRODUCTS[name]?.[by] !== undefined);

function two(): HTMLElement {
  const p = t.planning.fertiliser;
  return sums(p.two, [["needN", p.needN], ["needP", p.needP], ["first", p.first, withBy("P2O5")], ["second", p.second, withBy("N")]], (v) => {
    const [need, first, second] = [{ N: above(v["needN"]), P2O5: above(v["needP"]) }, PRODUCTS[v["first"] ?? ""], PRODUCTS[v["second"] ?? ""]];
    if (first === undefined || second === undefined || !known(need.N, need.P2O5)) return null;
    const [one, other] = twoProductsKgHa(need, first, "P2O5", second);
    const over = nutrientsKgHa(first, one)["N"] ?? 0;
    return [line(p.both(v["first"] ?? "", say.rate(one, "kg"), v["second"] ?? "", say.rate(other, "kg")), p.twoHow), over > need.N && h("span", {}, p.over(say.rate(over - need.N, "kg")))];
  });
}

function turns(): HTMLElement {
  const p = t.planning.turns;
  const told = ({ kind, length_m, depth_m }: Turn, how: string, width: number) => line(p.is(p.kinds[kind], say.metres(length_m), say.metres(depth_m), known(width) ? say.metres(depth_m + width / 2) : null), how);
  return sums(p.title, [["radius", p.radius], ["apart", p.apart, p.apartWhy], ["tool", p.tool]], (v) => {
    const [radius, apart, tool] = [above(v["radius"]), above(v["apart"]), above(v["tool"])];
    if (!known(radius, apart)) return null;
    const forward = turn(radius, apart);
    return [told(forward, p.how[forward.kind], tool), apart < 2 * radius && told(fishtail(radius, apart), p.how.fishtail, tool), h("span", { class: "under" }, p.room)];
  });
}
