// A press of the pad that Oops took back: when the lever should have been moved instead. Asked when the
// tractor stands. The answer is a lever entry made afterwards, and one that says what was asked; a press that
// was made again meanwhile gives way to it.
import { earlier } from "../../core/told";
import type { Mark, Question } from "../../core/words";
import type { Draft } from "../../keep/entry";

/** One of the answers: so long before it was pressed, ms. */
const BEFORE_MS = 10_000;
/** What nobody answered for a day is not asked any more, ms. */
const ASKED_MS = 24 * 3_600_000;

/** A question with what each of its answers writes. */
export interface Taken extends Question {
  readonly entries: (answer: string, prompt: string, now_ms: number) => Draft[];
}

export const isTaken = (question: Question): question is Taken => "entries" in question;

/** A question for each Oops that nobody answered for, the oldest first. */
export function takenBack(marks: readonly Mark[], dev: string): Taken[] {
  const mine = marks.filter(({ phone }) => phone === dev).sort(earlier);
  const levers = mine.filter(({ kind }) => kind === "lever");
  const newest = levers[levers.length - 1]?.t_ms ?? 0;
  const out: Taken[] = [];
  for (const oops of mine) {
    const { about, of, edge_ms } = oops.says;
    const pressed = mine.find(({ seq, kind }) => seq === of && kind === "hidden");
    if (oops.kind !== "undo" || about !== "oops" || pressed === undefined || newest - oops.t_ms > ASKED_MS) continue;
    if (mine.some(({ kind, says }) => kind === "say" && says["about"] === about && says["of"] === of)) continue;
    const [from_ms, to_ms, lever] = [pressed.t_ms, oops.t_ms, pressed.says["lever"] === "down" ? "down" : "up"] as const;
    const later = levers.filter(({ t_ms }) => t_ms > from_ms);
    const again = later[0]?.says["lever"] === lever ? later.shift() : undefined;
    const before = Math.max(...levers.map(({ t_ms }) => (t_ms <= from_ms ? t_ms : -Infinity)), -Infinity);
    const fits = (at: unknown): at is number => typeof at === "number" && at > before && at < (later[0]?.t_ms ?? Infinity);
    // moments that answers name, UTC ms; nought: the lever stays as it is now
    const answers: Record<string, number> = again === undefined ? { leave: 0, oops: to_ms } : { again: 0 };
    if (fits(edge_ms)) answers["edge"] = edge_ms;
    if (fits(from_ms - BEFORE_MS)) answers["before"] = from_ms - BEFORE_MS;
    const entries = (answer: string, prompt: string, now_ms: number): Draft[] => {
      const said: Draft = { kind: "say", t_ms: now_ms, about, of: pressed.seq, prompt, answer, from_ms, to_ms };
      const t_ms = answers[answer] ?? 0;
      if (t_ms === 0) return [said];
      const moved: Draft = { kind: "lever", t_ms, clock_ms: now_ms, lever, how: "afterwards" };
      return again === undefined ? [moved, said] : [moved, { kind: "undo", t_ms: now_ms, of: again.seq }, said];
    };
    out.push({ number: pressed.seq, kind: `oops-${lever}`, from_ms, to_ms, lon_deg: Number.NaN, lat_deg: Number.NaN, answers, entries });
  }
  return out;
}
