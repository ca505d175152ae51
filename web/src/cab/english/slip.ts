// English: the day slip: what was sown again and why, and when it is done.
import type { Cause } from "../../core/causes";

export const slip = {
  title: "Day slip",
  under: "What was sown again, and when it is done",
  again: "Sown again",
  headline: (again: string, band: string, percent: string) => [again, `, likely ${band}: ${percent}\u00a0% of the sown ground.`] as const,
  cost: (money: string, seed_kg: number, fert_kg: number, fuel_l: number, hours: string) => `About ${money}: ${seed_kg} kg of seed, ${fert_kg} kg of fertiliser, ${fuel_l} L of fuel, ${hours}.`,
  causes: {
    "between runs": "Between runs",
    "headland ends": "Headland ends",
    "point rows": "Point rows",
    "round obstacles": "Round obstacles",
    restart: "Restarts",
    finishing: "Finishing",
    turns: "Turns in the ground",
  } satisfies Record<Cause, string>,
  unexplained: "Not explained",
  own: (area: string) => `Hollow bar: your own choice, ${area}, the overlap wished on the rig card.`,
  unfinished: "Much is still bare, so this may change.",
  nothing: "Nothing was sown here yet.",
  time: "Time",
};
