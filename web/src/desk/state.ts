// What every page needs to know: who looks, the farm's settings, which season is looked at.
import { createStore } from "./store";
import type { Hello, Settings } from "./nouns";

export interface Desk {
  hello: Hello | null;
  settings: Settings;
  /** The season looked at: the newest that has anything, until another is chosen. */
  season: number;
  seasons: readonly number[];
  /** Whether the service answered last time it was asked. */
  reached: boolean;
}

export const DEFAULTS: Settings = {
  version: 0,
  farm: null,
  units: "ha",
  land: "paddock",
  zone: "UTC",
  day_start: "04:00",
  currency: "",
  prices: {},
  trip_min: null,
  example: { prices: {}, trip_min: 0 },
};

export const desk = createStore<Desk>({
  hello: null,
  settings: DEFAULTS,
  season: new Date().getFullYear(),
  seasons: [],
  reached: true,
});
