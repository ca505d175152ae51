// Seed stopped before anybody heard it: for how long, as it is remembered. The answer is the entry of the
// pad again, with since when, and the first one is taken back.
import type { Mark, Question } from "../../core/words";
import type { Draft } from "../../keep/entry";

/** What can be remembered of such a time, s. The engine takes a third of it either way as not known. */
const REMEMBERED_S = [30, 60, 90, 180, 300];
/** Both say when it was pressed, rounded each in its own way, ms. */
const SAME_MS = 1000;

export interface Since {
  readonly seconds: number;
  /** Ground over which no seed fell, m². */
  readonly m2: number;
}

/** The times that fit into what is asked about. */
export function sinces({ kind, from_ms, to_ms, answers }: Question): Since[] {
  if (kind !== "flow") return [];
  const whole = (to_ms - from_ms) / 1000;
  return REMEMBERED_S.filter((seconds) => seconds < whole).map((seconds) => ({ seconds, m2: ((answers["down"] ?? 0) * seconds) / whole }));
}

/** The entry that was pressed when seed had stopped; null where it is not in the log. */
export function stopped(marks: readonly Mark[], { to_ms }: Question): Mark | null {
  const found = marks.filter(({ kind, says, t_ms }) => kind === "flow" && says["flow"] === "off" && says["since_ms"] === undefined && Math.abs(t_ms - to_ms) <= SAME_MS);
  return found[found.length - 1] ?? null;
}

/** The two entries that say it: the first before the second, so that a page that dies between leaves the question. */
export function sinceEntries(pressed: Mark, seconds: number, dev: string, now_ms: number): readonly [Draft, Draft] {
  const again: Draft = { kind: "flow", t_ms: pressed.t_ms, clock_ms: now_ms, flow: "off", since_ms: pressed.t_ms - 1000 * seconds };
  const other = pressed.phone === dev ? {} : { of_dev: pressed.phone };
  return [again, { kind: "undo", t_ms: now_ms, of: pressed.seq, ...other }];
}
