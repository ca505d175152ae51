// A patch's card: its number, where it lies, how large, how sure, and what to do about it.
import { button, h, s, type Child } from "../dom";
import { go, has } from "../route";
import { distance, minute, size } from "../say";
import { cab } from "../state";
import { words } from "../stand/questions";
import type { Found, Sums } from "../sums";
import { t } from "../words";
import type { Spot } from "./plates";
import type { Decision } from "./decided";
import { approach, groupOf, worthLines } from "./worthy";

const DOTS = { sure: 3, likely: 2, "can't tell": 1 } as const;
const WAY: readonly Decision[] = ["go", "leave"];
const LOOKED: readonly Decision[] = ["sown", "bare"];

/** Three places, as many filled as it is sure. */
export function dots(call: Found["call"]): SVGElement {
  const filled = DOTS[call];
  return s(
    "svg",
    { viewBox: "0 0 66 22", class: "dots", "aria-hidden": "true" },
    [0, 1, 2].map((i) => s("circle", { cx: 11 + 22 * i, cy: 11, r: 8, class: i < filled ? "dot full" : "dot" })),
  );
}

/**
 * The card, and the buttons of what it is about, which stand where a thumb is whatever of the card is seen: the
 * way, or the answer where that decides whether one goes. `act` hears what was decided; `was`: what was before.
 */
export function card({ number, patch }: Spot, sums: Sums, was: Decision | null, act: (decision: Decision) => void): [HTMLElement, Child[]] {
  // what is black is what the card advises
  const label = groupOf(patch, sums)?.label;
  const ask = label === "ask first";
  const first = ask ? null : label === "leave" ? "leave" : "go";
  const { asks = [] } = patch;
  const open = sums.questions.filter((question) => asks.indexOf(question.number) >= 0);
  const choice = (decision: Decision): HTMLElement => {
    const made = h("button", { type: "button", class: decision === first ? "button first" : "button", "data-decision": decision, "aria-pressed": was === decision ? "true" : "false" }, t.gate.answers[decision], decision === "go" ? h("span", { class: "under" }, t.gate.patch(number)) : null);
    made.addEventListener("click", () => act(decision));
    return made;
  };
  const enter = approach(patch, sums);
  const answer = ask && open.length > 0 && has("standing") ? button(t.gate.toAsked, () => go("standing"), {}, "first") : null;
  const choices = (some: readonly Decision[]): Child[] => (cab.get().part === "keeper" ? some.map(choice) : []);
  const made = h(
    "section",
    { class: "card", "data-number": number, "data-m2": patch.area_m2.toFixed(1), "data-chance": patch.chance.toFixed(3), "aria-label": t.gate.patch(number) },
    h("h2", {}, h("span", { class: "plate" }, number), h("span", {}, t.gate.kind[patch.kind])),
    h("p", { class: "where" }, t.gate.where(patch.place, distance)),
    h("p", { class: "amount" }, h("strong", {}, size(patch.area_m2)), dots(patch.call), h("span", {}, t.gate.call[patch.call])),
    ...worthLines(patch, sums),
    enter === "" ? null : h("p", { class: "enter" }, enter),
    patch.call === "can't tell" ? h("p", {}, t.gate.look) : null,
    asks.length === 0 ? null : h("p", { class: "asks" }, t.worth.asks(open.map((question) => `${t.stand.questions.when(minute(question.from_ms), minute(question.to_ms))} ${words(question)}`))),
    was === null ? null : h("p", { class: "was" }, t.gate.answered[was]),
    h("div", { class: "pairs" }, answer === null ? null : choices(WAY), choices(LOOKED)),
  );
  return [made, answer === null ? choices(WAY) : [answer]];
}
