// What of a day's sums another worker can be sent for: plain data goes along, plain data comes back, the same
// whoever goes.
import { Clip } from "./clip";
import { type Laid, type Once, type Strip, visitedAgain } from "./cover";
import { type Drawing, type Settling, drawing } from "./together";
import { type Sowing, type Waste, waste } from "./waste";
import { type Draws, type Settled, allOf, settled } from "./settle";
import type { Area, Rig } from "./words";

interface Errands {
  /** Draws of it are brought after it. */
  settle: [takes: Omit<Drawing, "day"> & { readonly of: Settling }, brings: Settled];
  draws: [takes: Drawing, brings: Draws];
  twice: [takes: { readonly strips: readonly Strip[]; readonly once: Once; readonly covers: Laid }, brings: ReturnType<typeof visitedAgain>];
  waste: [takes: { readonly day: Sowing; readonly rigs: readonly Rig[]; readonly whole: Area }, brings: Waste];
}
type For = keyof Errands;

export interface Errand<K extends For = For> {
  readonly for: K;
  readonly takes: Errands[K][0];
}
export type Brought<K extends For = For> = Errands[K][1];

export const errand = <K extends For>(name: K, what: Errands[K][0]): Errand<K> => ({ for: name, takes: what });

/** What somebody brought, else what one fetches oneself. */
export function fetched<K extends For>(asked: Errand<K>, brought?: Brought): Brought<K>;
export function fetched(asked: Errand, brought?: Brought): Brought {
  if (brought !== undefined) return brought;
  if (isFor("settle", asked)) return settled(...asked.takes.of);
  if (isFor("draws", asked)) return allOf(drawing(asked.takes));
  if (isFor("twice", asked)) {
    const { strips, once, covers } = asked.takes;
    return visitedAgain(new Clip(), strips, once, covers);
  }
  const { day, rigs, whole } = (asked as Errand<"waste">).takes;
  return waste(day, rigs, whole);
}

/** What one fetches, as it comes: draws are some at a time. */
export function* fetching(asked: Errand): Generator<Brought, void, void> {
  let of = asked.takes;
  if (!isFor("draws", asked)) {
    const day = fetched(asked);
    yield day;
    of = { ...of, day } as Drawing;
  }
  if (isFor("draws", asked) || isFor("settle", asked)) yield* drawing(of as Drawing);
}

const isFor = <K extends For>(name: K, asked: Errand): asked is Errand<K> => asked.for === name;
