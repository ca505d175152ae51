// A press of the pad that Oops took back: when the lever should have been moved instead. Asked when the
// tractor stands. The answer is a lever entry made afterwards, and one that says what was asked; a press that
// was made again meanwhile gives way to it.
import type { Mark, Question } from "../../core/words";
import type { Draft } from "../../keep/entry";

/** One of the answers: so long before it was pressed, ms. */
const BEFORE_MS = 10_000;
/** What nobody answered for a day is not asked any more, ms. */
const ASKED_MS = 24 * 3_600_000;

/** Moments that answers name, UTC ms; null: the lever stays as it is now. */
type Moments = Readonly<Record<string, number | null>>;

interface Taken {
  readonly oops: Mark;
  /** As it was pressed; of the kind that undone entries have. */
  readonly lever: Mark;
  /** The same, pressed again since. */
  readonly again: Mark | undefined;
  readonly moments: Moments;
}

/** A question for each Oops that nobody answered for, the oldest first. */
export function takenBack(marks: readonly Mark[], dev: string): Question[] {
  return unanswered(marks, dev).map(({ oops, lever, moments }) => {
    const answers: Record<string, number> = {};
    Object.keys(moments).forEach((word) => (answers[word] = 0));
    const kind = `oops-${String(lever.says["lever"])}`;
    return { number: lever.seq, kind, from_ms: lever.t_ms, to_ms: oops.t_ms, lon_deg: Number.NaN, lat_deg: Number.NaN, text: "", answers };
  });
}

/** What one answer to such a question writes. */
export function takenEntries(marks: readonly Mark[], dev: string, question: Question, answer: string, prompt: string, now_ms: number): Draft[] {
  const found = unanswered(marks, dev).find(({ lever }) => lever.seq === question.number);
  if (found === undefined) return [];
  const { lever, again, moments } = found;
  const at = moments[answer] ?? null;
  const said: Draft = { kind: "say", t_ms: now_ms, about: "oops", of: lever.seq, prompt, answer, from_ms: question.from_ms, to_ms: question.to_ms };
  if (at === null) return [said];
  const moved: Draft = { kind: "lever", t_ms: at, clock_ms: now_ms, lever: lever.says["lever"] === "down" ? "down" : "up", how: "afterwards" };
  return [moved, ...(again === undefined ? [] : [{ kind: "undo", t_ms: now_ms, of: again.seq } as const]), said];
}

function unanswered(marks: readonly Mark[], dev: string): Taken[] {
  const mine = marks.filter(({ phone }) => phone === dev).sort((a, b) => a.t_ms - b.t_ms || a.seq - b.seq);
  const levers = mine.filter(({ kind }) => kind === "lever");
  const newest = levers[levers.length - 1]?.t_ms ?? 0;
  const out: Taken[] = [];
  for (const oops of mine) {
    const { about, of, edge_ms } = oops.says;
    const lever = mine.find(({ seq, kind }) => seq === of && kind === "hidden");
    if (oops.kind !== "undo" || about !== "oops" || lever === undefined || newest - oops.t_ms > ASKED_MS) continue;
    if (mine.some(({ kind, says }) => kind === "say" && says["about"] === "oops" && says["of"] === of)) continue;
    const later = levers.filter(({ t_ms }) => t_ms > lever.t_ms);
    const again = later[0]?.says["lever"] === lever.says["lever"] ? later.shift() : undefined;
    const before = Math.max(...levers.map(({ t_ms }) => (t_ms <= lever.t_ms ? t_ms : -Infinity)), -Infinity);
    const moments: Record<string, number | null> = again === undefined ? { leave: null, oops: oops.t_ms } : { again: null };
    const fits = (at: unknown): at is number => typeof at === "number" && at > before && at < (later[0]?.t_ms ?? Infinity);
    if (fits(edge_ms)) moments["edge"] = edge_ms;
    if (fits(lever.t_ms - BEFORE_MS)) moments["before"] = lever.t_ms - BEFORE_MS;
    out.push({ oops, lever, again, moments });
  }
  return out;
}
