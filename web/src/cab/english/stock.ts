// English: fills, what is left in the bins and how far it goes, rates.
import type { Lost } from "../../core/capacity";
import { capital, listed, many } from "./parts";

const sign = (unit: "kg" | "l"): string => (unit === "l" ? "L" : "kg");
const percent = (part: number): string => `${Math.round(part * 100)} %`;

export const stock = {
  title: "Fill",
  aboard: "On board",
  none: "No fill is logged yet: what is on board is not known.",
  counting: "The balance comes with the count, which is being made.",
  elsewhere: "Fills are logged, but none while this phone was at work here: what is on board is not known.",
  unrated: (product: string) => `${capital(product)}: can’t tell how far it goes. Set its rate under Prices, or fill to the same mark twice.`,
  left: (product: string, amount: number, unit: "kg" | "l", spread: number) => `${capital(product)}: about ${amount.toLocaleString("en")} ± ${spread.toLocaleString("en")} ${sign(unit)}.`,
  lasts: (area: string, rounds: number | null, minutes: string | null) => `Lasts nine times in ten for ${listed([area, rounds === null ? "" : rounds === 0 ? "less than a round" : many(rounds, "round"), minutes ?? ""])}.`,
  minutes: (minutes: number, spread: number) => `${minutes} ± ${spread} min of this pace`,
  empty: (product: string) => `${capital(product)} may be out.`,
  rate: (rate: string, unit: "kg" | "l", real: boolean) => `${real ? "Really used" : "Reckoned with"} ${rate} ${sign(unit)}/ha.`,
  areas: (map: string | null, speed: string | null, seed: string | null) => `Gone over: by map ${map ?? "can’t tell"}, by speed ${speed ?? "can’t tell"}, by seed ${seed ?? "can’t tell"}.`,
  check: (parts: number) => `They are ${parts} % apart. Check: width, rate, or a blocked row?`,
  lost: ({ efficiency, turning, filling, standing, overlap }: Lost) => `Of the time here ${percent(efficiency)} sowed new ground; lost to turning ${percent(turning)}, filling ${percent(filling)}, standing ${percent(standing)}, overlap and the rest ${percent(overlap)}.`,
  step: "Steps of",
  steps: { small: (unit: "kg" | "l") => `10 ${sign(unit)}`, middle: (unit: "kg" | "l") => (unit === "l" ? "50 L" : "50 kg"), bag: "A bag" },
  bag: "A bag holds",
  weight: (kg: number) => `${kg} kg`,
  filled: { kg: "Filled in", l: "Filled in" },
  amount: (amount: number, unit: "kg" | "l") => `${amount.toLocaleString("en")} ${sign(unit)}`,
  bags: (amount: number, bags: number) => `${many(bags, "bag")}, ${amount.toLocaleString("en")} kg`,
  before: "Before the fill",
  befores: { unknown: "Not looked at", mark: "To the same mark", left: "Looked: left in it" },
  leftBefore: "Was left in it",
  act: "Log the fill",
  nothing: "Nothing was filled in yet: press + first.",
  done: (amount: string, product: string) => `${amount} ${product}`,
  out: "It ran out behind me",
  outWhat: (product: string) => `${capital(product)} ran out while sowing, and nobody noticed at once.`,
  outBand: (from: string, to: string) => `By the balance it ran out between ${from} and ${to}: that ground is not known, what was driven since counts as bare.`,
  outUnknown: "The balance cannot tell since when: everything since the last fill is asked about.",
  outSure: "Yes, it ran out",
  outDone: "ran out behind",
  urgent: {
    out: (product: string) => `${capital(product)} may be out`,
    rounds: (rounds: number, product: string) => (rounds === 0 ? `Under a round of ${product}` : `${many(rounds, "round")} of ${product}`),
    area: (area: string, product: string) => `${capital(product)} for ${area}`,
  },
  time: {
    left: (area: string, hours: string, spread: string | null) => `${area} not reached yet: about ${hours}${spread === null ? "" : `, give or take ${spread}`} at the pace so far, fills included.`,
    done: (when: string, span: readonly string[]) => `Going on now it is done at ${when}${span.length === 0 ? "" : `, eight times in ten from ${span.join(" to ")}`}.`,
    dark: (when: string) => `Dark at ${when}.`,
    before: (area: string) => `At this pace ${area} of it before dark.`,
    hours: (hours: number) => (hours < 1 ? `${Math.max(Math.round(hours * 12) * 5, 5)} min` : `${Math.floor(hours)} h ${String(Math.round(((hours % 1) * 60) / 5) * 5).padStart(2, "0")}`),
  },
};
