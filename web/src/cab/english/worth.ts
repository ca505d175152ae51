// English: what a patch is worth, the way through those that repay it, and the prices that this rests on.
import type { Label } from "../../core/worth";
import type { Price } from "../prices";
import { MAY_BE, named } from "./eight";
import { capital, listed } from "./parts";

const minutes = (seconds: number): string => (seconds < 90 ? `${Math.max(Math.round(seconds / 10) * 10, 10)} s` : `${Math.round(seconds / 60)} min`);

export const worth = {
  label: { "worth it": "Worth it", "ask first": "Ask first", "your call": "Your call", leave: "Leave", "look first": "Look first" } satisfies Record<Label, string>,
  net: (value: string, cost: string, seconds: number) => `Brings ${value}, costs ${cost} and ${minutes(seconds)}.`,
  together: (others: readonly number[]) => `One run with ${named(others)}: the money is for all of them.`,
  unreached: (size: string) => `No straight run of this rig reaches its ${size}: back in, or leave it.`,
  asks: (asked: readonly string[]) => `It ${MAY_BE}. ${asked.join(" ")}`,
  left: (size: string) => `${size} of it no run reaches.`,
  enter: (from: string, length: string, runs: number) => `Enter from the ${from}, ${length}${runs === 1 ? "" : ` in ${runs} runs`}.`,
  stop: (at: number, patches: readonly number[], where: string, enter: string, ask: readonly number[]) => `${at}. ${capital(named(patches))}: ${where}. ${enter}${ask.length === 0 ? "" : ` Ask first${ask.length < patches.length ? ` about ${named(ask)}` : ""}.`}`,
  gate: (seconds: number) => `Then the gate. About ${minutes(seconds)}.`,
  noGate: "No gate is set: where you first came in is taken.",
  way: "The way",
  lasts: (product: string, word: "enough" | "tight" | "short", takes: string, of: string, far: string, stop: number) =>
    word === "short" ? `${capital(product)} runs dry about ${far} before the end of a run of ${stop}: the way takes ${takes} of ${of}.` : `${capital(product)} is enough${word === "tight" ? ", but tight" : ""}: the way takes ${takes} of ${of}.`,
  blocked: "No way round was found for part of it: look before you drive.",
  foot: (bare: string, paying: string, asking: string, seconds: number) => listed([`Bare ${bare}`, paying && `worth it ${paying}`, asking && `ask first ${asking}`, minutes(seconds), "Gate"], " · "),
  nothing: (bare: string) => `Bare ${bare} · nothing is worth the way · Gate`,
  later: (net: string, trip_min: number) => `Coming back another day: ${net} left after ${trip_min} min of road and folding.`,
  never: (trip_min: number) => `Coming back another day does not repay ${trip_min} min of road and folding.`,
  examples: "Reckoned with prices of an invented farm, where yours are not set.",
  prices: {
    title: "Prices",
    under: "What seed, time and grain are worth",
    what: "They decide what is worth going back for. Set here, they hold on this phone; the farm’s own are set at the desk.",
    names: {
      seed_kg_ha: ["Seed", "kg/ha"],
      seed_price_kg: ["Seed price", "a kg"],
      fert_kg_ha: ["Fertiliser", "kg/ha"],
      fert_price_kg: ["Fertiliser price", "a kg"],
      fuel_l_ha: ["Fuel", "L/ha"],
      fuel_price_l: ["Fuel price", "a litre"],
      tractor_h: ["Tractor and driver", "an hour, without fuel"],
      yield_t_ha: ["Yield expected", "t/ha"],
      grain_price_t: ["Grain price", "a tonne"],
      weed_penalty_ha: ["Weeds on bare ground", "a ha"],
      trip_min: ["Road and folding", "min, there and back"],
    } satisfies Record<Price, readonly [string, string]>,
    whose: { phone: "set on this phone", farm: "the farm’s", example: "example: not set" },
    example: (value: number) => `such as ${value}`,
    save: "Keep these prices",
    saved: "Kept on this phone.",
    wrong: (name: string) => `${name}: a number from nought up is expected, such as 0.46.`,
    farm: "Take the farm’s prices again",
    bare: (value: string) => `A bare hectare costs ${value}.`,
  },
};
