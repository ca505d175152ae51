// What the presses of a stopwatch come to: the rig card's times, with how much they spread.

export type Trial = "points" | "seed" | "lift";

/** The rig card's times that a trial measures, in the order of its presses after the first. */
export const MEASURES: Readonly<Record<Trial, readonly string[]>> = { points: ["lower_s"], seed: ["meter_s", "fill_s"], lift: ["raise_s", "drain_s"] };

/** Presses of one trial, ms of any steady clock; the first is the lever. */
export type Presses = readonly number[];

/**
 * Seconds by the rig card's names. Seed takes from meter to opener, so `fill_s` is counted from the press
 * before; everything else from the lever.
 */
export function timesOf(trial: Trial, presses: Presses): Record<string, number> {
  const out: Record<string, number> = {};
  MEASURES[trial].forEach((name, i) => {
    const [from, to] = [presses[name === "fill_s" ? i : 0], presses[i + 1]];
    if (from !== undefined && to !== undefined) out[name] = (to - from) / 1000;
  });
  return out;
}

export interface Measured {
  readonly mean_s: number;
  /** Standard deviation of one trial; null of fewer than three. */
  readonly spread_s: number | null;
  readonly n: number;
}

/** Every time that was measured, over all trials of it. */
export function measured(trials: readonly { readonly trial: Trial; readonly presses: Presses }[]): Map<string, Measured> {
  const all = new Map<string, number[]>();
  for (const { trial, presses } of trials) {
    const times = timesOf(trial, presses);
    for (const name of Object.keys(times)) all.set(name, [...(all.get(name) ?? []), times[name] ?? 0]);
  }
  const out = new Map<string, Measured>();
  all.forEach((values, name) => {
    const n = values.length;
    const mean_s = values.reduce((sum, value) => sum + value, 0) / n;
    const square = values.reduce((sum, value) => sum + (value - mean_s) ** 2, 0);
    out.set(name, { mean_s, spread_s: n < 3 ? null : Math.sqrt(square / (n - 1)), n });
  });
  return out;
}
