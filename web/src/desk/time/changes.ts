// What is to be set right about the lever: kept apart from the log until it is saved, and saved as
// entries of its own. The log itself is never edited.
import type { Entry, Lever, Question, TakenBack } from "../nouns";

export type Change =
  | { kind: "move"; lever: Lever; to_ms: number }
  | { kind: "drop"; lever: Lever }
  | { kind: "add"; lever: "down" | "up"; t_ms: number; id: number };

/** One lever entry as the line shows it, with what is to become of it. */
export interface Shown {
  key: string;
  t_ms: number;
  lever: "down" | "up";
  entry: Lever | null;
  state: "logged" | "moved" | "dropped" | "added" | "hidden";
}

export const keyOf = (lever: Lever): string => `${lever.dev}/${lever.seq}`;
const addedKey = (id: number): string => `added/${id}`;

/** Every lever entry with the changes made, in order of time. */
export function shown(levers: readonly Lever[], changes: readonly Change[]): Shown[] {
  const about = new Map(changes.filter((c) => c.kind !== "add").map((c) => [keyOf(c.lever as Lever), c]));
  const logged = levers.map((lever): Shown => {
    const change = about.get(keyOf(lever));
    const state = change?.kind === "move" ? "moved" : change ? "dropped" : lever.hidden ? "hidden" : "logged";
    return { key: keyOf(lever), t_ms: change?.kind === "move" ? change.to_ms : lever.t_ms, lever: lever.lever, entry: lever, state };
  });
  const fresh = changes.flatMap((c): Shown[] => (c.kind === "add" ? [{ key: addedKey(c.id), t_ms: c.t_ms, lever: c.lever, entry: null, state: "added" }] : []));
  return [...logged, ...fresh].toSorted((a, b) => a.t_ms - b.t_ms);
}

/** The changes after one entry was moved to `to_ms`. Moved back to where it was, it is no change. */
export function moved(changes: readonly Change[], what: Shown, to_ms: number): Change[] {
  const whole = Math.round(to_ms);
  const entry = what.entry;
  if (!entry) return changes.map((c) => (c.kind === "add" && addedKey(c.id) === what.key ? { ...c, t_ms: whole } : c));
  const rest = without(changes, what.key);
  return whole === entry.t_ms ? rest : [...rest, { kind: "move", lever: entry, to_ms: whole }];
}

/** The changes with one entry taken out; one that was only added is simply gone. */
export function dropped(changes: readonly Change[], what: Shown): Change[] {
  const rest = without(changes, what.key);
  return what.entry ? [...rest, { kind: "drop", lever: what.entry }] : rest;
}

/** The changes with a new lever entry. */
export function added(changes: readonly Change[], lever: "down" | "up", t_ms: number): Change[] {
  const id = 1 + Math.max(0, ...changes.map((c) => (c.kind === "add" ? c.id : 0)));
  return [...changes, { kind: "add", lever, t_ms: Math.round(t_ms), id }];
}

/** The changes without what was done to one entry. */
export const without = (changes: readonly Change[], key: string): Change[] =>
  changes.filter((c) => (c.kind === "add" ? addedKey(c.id) : keyOf(c.lever)) !== key);

/**
 * What goes into the log: an undo for what was moved or dropped, a lever entry for what is new. `phone` is one of
 * the rig that a new one is about, where several worked.
 */
export function entriesOf(changes: readonly Change[], paddock: string, phone?: string): Entry[] {
  return changes.flatMap((change): Entry[] => {
    const set = (lever: "down" | "up", t_ms: number): Entry => ({ t_ms, kind: "lever", lever, how: "afterwards", paddock });
    if (change.kind === "add") return [{ ...set(change.lever, change.t_ms), ...(phone ? { of_dev: phone } : {}) }];
    const { lever } = change;
    const hide: Entry = { t_ms: lever.t_ms, kind: "undo", of: lever.seq, of_dev: lever.dev, paddock };
    return change.kind === "drop" ? [hide] : [hide, { ...set(lever.lever, change.to_ms), of_dev: lever.of_dev ?? lever.dev }];
  });
}

/** What takes saved entries of the desk back: each is undone under the number it was given. */
export const undoOf = (entries: readonly Entry[], seqs: readonly number[], paddock: string): Entry[] =>
  seqs.map((seq, index) => ({ t_ms: entries[index]?.t_ms ?? 0, kind: "undo", of: seq, paddock }));

/**
 * The entries that answer when a press that Oops took back should have been: as the phone would have written them,
 * but of the desk. The same press made again meanwhile gives way.
 */
export function takenOf({ dev, seq, lever, from_ms, to_ms, answers, again_seq }: TakenBack, answer: string, prompt: string, paddock: string): Entry[] {
  const about = { of_dev: dev, paddock };
  const said: Entry = { t_ms: to_ms, kind: "say", about: "oops", of: seq, prompt, answer, from_ms, to_ms, ...about };
  const t_ms = answers[answer] ?? null;
  if (t_ms === null) return [said];
  const set: Entry = { t_ms, kind: "lever", lever, how: "afterwards", ...about };
  return again_seq === null ? [set, said] : [set, { t_ms: to_ms, kind: "undo", of: again_seq, ...about }, said];
}

/** The entry that answers a question: `blind` for a stretch without positions, else `say`. */
export function answerOf(question: Question, answer: string, paddock: string): Entry {
  const { from_ms, to_ms, kind, text, phone } = question;
  const told = { t_ms: to_ms, from_ms, to_ms, answer, paddock, ...(phone ? { of_dev: phone } : {}) };
  return kind === "blind" ? { ...told, kind: "blind" } : { ...told, kind: "say", about: kind, prompt: text };
}
