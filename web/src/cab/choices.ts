// What is chosen on this phone for itself: kept with the log, but no part of it.
import type { Keeper } from "../keep/keep";
import { createStore } from "./store";

export interface Choices {
  /** Null: as the farm's own settings say. */
  readonly units: "ha" | "ac" | null;
  readonly land: "paddock" | "field" | null;
  /** The hand that the pad's row of buttons is laid out for. */
  readonly hand: "right" | "left";
  /** Where positions come from: the phone itself, or a receiver that it was once let at. */
  readonly source: "phone" | "receiver";
  /** The key of a wireless button that does what the pad does; null: none was learned. */
  readonly button: string | null;
  /** From the tool's outer end to the fence on a driven lap, m. */
  readonly clearance_m: number;
  /** What a bag of seed or fertiliser holds, kg. */
  readonly bag_kg: number;
  /** Prices that were set on this phone, by name; without them those of the farm hold. */
  readonly prices: Readonly<Record<string, number>>;
}

export const CHOICES: Choices = { units: null, land: null, hand: "right", source: "phone", button: null, clearance_m: 0.5, bag_kg: 500, prices: {} };
const KEY = "choices";

export const choices = createStore<Choices>(CHOICES);

/** Takes what was chosen earlier; what an older page kept in another shape is left out. */
export async function readChoices(log: Pick<Keeper, "recall">): Promise<void> {
  const kept = await log.recall<Partial<Choices>>(KEY).catch(() => undefined);
  if (kept !== undefined) choices.set(kept);
}

/** Chooses, and keeps it; where that fails it holds until the page ends. */
export function choose(change: Partial<Choices>, log: Pick<Keeper, "remember">): void {
  choices.set(change);
  log.remember(KEY, choices.get()).catch(() => undefined);
}
