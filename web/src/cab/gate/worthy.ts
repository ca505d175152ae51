// What going back is worth, on the gate check: a card's lines, the way in sentences, the line at the foot.
import type { Label } from "../../core/worth";
import { button, h, type Child } from "../dom";
import { costs, money } from "../prices";
import { go } from "../route";
import { area, distance, size } from "../say";
import { cab } from "../state";
import type { Found, Going, Sums } from "../sums";
import { t } from "../words";

/** Ground that no run reaches is not told when it is less than this, m². */
const LEFT_M2 = 10;

type Group = Going["groups"][number];

export const groupOf = ({ number }: Found, { going }: Pick<Sums, "going">): Group | null => going?.groups.find(({ patches }) => patches.indexOf(number) >= 0) ?? null;

/** The label, and what it rests on. */
export function worthLines(patch: Found, sums: Sums): Child[] {
  const group = groupOf(patch, sums);
  if (group === null) return [];
  const others = group.patches.filter((number) => number !== patch.number);
  return [
    h("p", { class: "label", "data-label": group.label }, h("strong", {}, t.worth.label[group.label])),
    group.runs === 0 ? h("p", {}, t.worth.unreached(size(group.left_m2))) : h("p", { class: "money" }, t.worth.net(money(group.value), money(group.cost), group.seconds)),
    others.length === 0 ? null : h("p", {}, t.worth.together(others)),
    group.runs > 0 && group.left_m2 > LEFT_M2 ? h("p", {}, t.worth.left(size(group.left_m2))) : null,
  ];
}

/** Where the way leads through a patch. */
export const stopOf = ({ number }: Found, { going }: Pick<Sums, "going">): Going["stops"][number] | undefined => going?.stops.find(({ patches }) => patches.indexOf(number) >= 0);

/** How a patch is driven up to; empty where no way leads through it. */
export function approach(patch: Found, sums: Pick<Sums, "going">): string {
  const stop = stopOf(patch, sums);
  return stop === undefined ? "" : t.worth.enter(stop.from, distance(stop.length_m), stop.runs);
}

/** The way as sentences: which run, from which side, how long. Never steering. */
export function wayLines({ going, patches }: Sums): Child[] {
  if (going === null || going.stops.length === 0) return [];
  const where = (number: number | undefined): string => {
    const found = patches.find((patch) => patch.number === number);
    return found === undefined ? "" : t.gate.where(found.place, distance);
  };
  return [
    h("h2", {}, t.worth.way),
    h("div", { class: "way", id: "way" }, going.stops.map(({ patches: some, from, length_m, runs, ask }, i) => h("p", {}, t.worth.stop(i + 1, some, where(some[0]), t.worth.enter(from, distance(length_m), runs), ask))), h("p", {}, t.worth.gate(going.seconds)), going.gate_set ? null : h("p", {}, t.worth.noGate)),
    ...going.lasting.map(({ product, word, metered_ha, ha, stop, before_end_m }) => h("p", { "data-lasts": word }, t.worth.lasts(product, word, area(metered_ha), area(ha), distance(before_end_m), stop))),
    going.blocked ? h("p", { class: "said" }, t.worth.blocked) : null,
  ];
}

/** Bare ground, what of it is worth it, and how long that takes. */
export function foot({ going, tally, patches }: Sums): Child[] {
  if (going === null) return [];
  const { trip_min, examples } = costs();
  const over = (wanted: Label): string => {
    const m2 = patches.reduce((sum, patch) => sum + (groupOf(patch, { going })?.label === wanted ? patch.area_m2 : 0), 0);
    return m2 > 0 ? area(m2 / 1e4) : "";
  };
  const bare = area(tally.bare_ha);
  return [
    h("p", { class: "large", id: "foot" }, going.stops.length === 0 ? t.worth.nothing(bare) : t.worth.foot(bare, over("worth it"), over("ask first"), going.seconds)),
    h("p", {}, going.later === null ? t.worth.never(trip_min) : t.worth.later(money(going.later), trip_min)),
    examples.length === 0 ? null : h("p", { id: "examples" }, t.worth.examples),
    examples.length === 0 || cab.get().part !== "keeper" ? null : button(t.worth.prices.title, () => go("prices")),
  ];
}
