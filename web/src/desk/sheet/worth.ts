// What is worth going back for: the sum of it, the way in words, and what a patch's own line says.
import { h, type Child } from "../dom";
import { borrowed } from "../again/panel";
import type { Patch, Question } from "../nouns";
import * as say from "../say";
import type { Group, Label, Worth } from "../upshot";
import { t } from "../words";
import { placeOf, type Bounds } from "./place";

const AFTER: readonly Label[] = ["ask first", "your call", "look first", "leave"];

/** The patches in driving order, then those that are somebody's call, to look at, and to leave. */
export function inDrivingOrder(patches: readonly Patch[], worth: Worth | null | undefined): Patch[] {
  const now = worth?.now;
  if (!now) return [...patches];
  const driven = now.stops.flatMap(({ group }) => now.groups[group]?.patches ?? []);
  const rest = AFTER.flatMap((label) => now.groups.filter((group) => group.label === label).flatMap((group) => group.patches));
  const place = new Map([...new Set([...driven, ...rest])].map((number, at) => [number, at]));
  const at = ({ number }: Patch): number => place.get(number) ?? place.size;
  return patches.toSorted((a, b) => at(a) - at(b));
}

/** Worth, cost and label of one patch in a line, and what it hangs on; null where it was not weighed. */
export function worthLine(patch: number, worth: Worth | null | undefined, questions: readonly Question[]): Child {
  const group = worth?.now?.groups.find(({ patches }) => patches.includes(patch));
  if (!worth || !group) return null;
  return h("span", { class: `worth ${group.label.replace(" ", "-")}` }, h("strong", {}, t.worth.label[group.label]), ` · ${why(group, patch, worth.currency)}${hangs(group, questions)}`);
}

function why(group: Group, patch: number, currency: string): string {
  if (group.label === "look first") return t.worth.look;
  if (group.runs.length === 0) return t.worth.unreached(say.size(group.left_m2));
  const others = group.patches.filter((number) => number !== patch);
  const net = `${t.worth.net(say.money(group.net, currency), say.minutes(group.seconds))} (${t.worth.money(say.money(group.value, currency), say.money(group.cost, currency))})`;
  return others.length > 0 ? `${net}, ${t.worth.together(others.join(", "))}` : net;
}

function hangs({ label, asks = [] }: Group, questions: readonly Question[]): string {
  const open = label === "ask first" || label === "your call" ? questions.filter(({ number }) => asks.includes(number)) : [];
  return open.length === 0 ? "" : `; ${t.worth.asks(open.map(({ from_ms, to_ms }) => [say.clock(from_ms), say.clock(to_ms)] as const))}`;
}

/** What all of it comes to, now and from outside later, with the way in words. */
export function worthSum(worth: Worth | null | undefined, patches: readonly Patch[], bounds: Bounds): Child[] {
  const now = worth?.now;
  if (!worth || !now) return [];
  const of = (wanted: Label): number => now.groups.filter(({ label }) => label === wanted).flatMap((group) => group.patches).length;
  const [paying, asking] = [of("worth it"), of("ask first")];
  const driven = paying + asking > 0;
  const trip = say.minutes(worth.trip_s);
  const later = worth.later;
  return [
    h("p", { class: "worth-sum" }, driven ? t.worth.sum(say.money(now.net, worth.currency), say.minutes(now.seconds), [paying, say.area(now.worth_m2 / 1e4)], [asking, say.area((now.ask_m2 ?? 0) / 1e4)]) : t.worth.nothing),
    later && driven && h("p", {}, later.label === "leave" ? t.worth.laterNot(trip) : t.worth.later(say.money(later.net, worth.currency), trip)),
    (now.lasting ?? []).map(({ product, word, metered_ha, aboard_ha, stop, before_end_m }) => {
      const [takes, there] = [say.area(metered_ha), say.area(aboard_ha)];
      return h("p", {}, word === "short" ? t.worth.dry(product, say.distance(before_end_m), stop, takes, there) : t.worth.lasts(product, word === "tight", takes, there));
    }),
    now.blocked && h("p", { class: "caution-line" }, t.worth.blocked),
    now.stops.length > 0 && h("details", {}, h("summary", {}, t.worth.words), h("ol", { class: "lines" }, sentences(worth, patches, bounds).map((line) => h("li", {}, line)))),
    borrowed(worth.examples.length),
  ].flat();
}

/** The way in words, in the farm's units; never steering. */
function sentences({ now, gate_set, gate_name }: Worth, patches: readonly Patch[], bounds: Bounds): string[] {
  if (!now) return [];
  const stops = now.blocks.map((block, at) => {
    const runs = block.map((k) => now.stops[k]?.run).filter((run) => run !== undefined);
    const numbers = [...new Set(runs.flatMap(({ covers }) => Object.keys(covers).map(Number)))].toSorted((a, b) => a - b);
    const patch = patches.find(({ number }) => number === numbers[0]);
    const where = patch ? t.patches.place(placeOf(patch.lon, patch.lat, bounds), say.distance) : "";
    const long = say.distance(runs.reduce((sum, run) => sum + run.length_m, 0));
    const groups = block.map((k) => now.groups[now.stops[k]?.group ?? -1]);
    const ask = [...new Set(groups.flatMap((group) => (group?.label === "ask first" ? group.patches : [])))];
    return t.worth.stop(at + 1, t.worth.patches(numbers), where, runs[0]?.from_side ?? "", long, runs.length) + (ask.length > 0 ? t.worth.ask(ask.length < numbers.length ? t.worth.patches(ask) : "") : "");
  });
  return [...stops, t.worth.gate(say.minutes(now.seconds), gate_set ? (gate_name ?? "") : null)];
}
