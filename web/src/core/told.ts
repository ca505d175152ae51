// What the driver told: taps as they were made, and answers to questions.
//
// A tap is a `lever` entry; one made afterwards (`how` is `afterwards`) is as good as any. An answer is a
// `say` or `blind` entry with `from_ms`, `to_ms` and `answer`: `down` or `up` is the state in that
// stretch, `swapped` or `right` what the taps in it meant, `unsure` leaves it doubt without asking again.
// A `flow` entry that says off is an answer too; without `since_ms` it is a question as well: since when?
import type { Mark } from "./words";

/** The same word again within this is one press, s. */
const AGAIN_S = 3;
/** How far off an estimated "since" may be, as a share of the time gone by. */
const FLOW_SLACK = 1 / 3;
/** Without an estimate seed is in doubt since the last lowering, but for no longer than this, s. */
const FLOW_BACK_S = 600;
const WORDS = ["down", "up", "swapped", "right", "unsure"] as const;

/** What was answered; `open` is the word of a stretch that nobody has answered for yet. */
export type Word = (typeof WORDS)[number] | "open";

/** The lever's new state, at lever time in seconds since the day's first fix. */
export interface Tap {
  readonly t_s: number;
  readonly down: boolean;
}

/**
 * One answered stretch, seconds since the day's first fix. Where flow was said to be off without since
 * when, the stretch before it has the word `open`.
 */
export interface Answer {
  readonly from_s: number;
  readonly to_s: number;
  readonly word: Word;
  readonly about: string;
}

/** Whether an answer is for the stretch from a to b: the larger part of either lies in both. */
export function covers(answer: Answer, a: number, b: number): boolean {
  const both = Math.min(answer.to_s, b) - Math.max(answer.from_s, a);
  return both >= 0.5 * Math.min(answer.to_s - answer.from_s, b - a) && both >= 0;
}

/** Every tap in order of time, doubled presses counted once. */
export function tapped(marks: readonly Mark[], t0_ms: number): Tap[] {
  const levers = marks
    .filter((m) => m.kind === "lever")
    .sort(byTime);
  const taps: Tap[] = [];
  for (const mark of levers) {
    const word = mark.says["lever"];
    if (word !== "down" && word !== "up") continue;
    const tap: Tap = { t_s: (mark.t_ms - t0_ms) / 1000, down: word === "down" };
    const before = taps[taps.length - 1];
    if (before !== undefined && before.down === tap.down && tap.t_s - before.t_s < AGAIN_S) continue;
    taps.push(tap);
  }
  return taps;
}

/** Entries by time, those of one moment by their phone and number: the same in whatever order they came. */
export function byTime(a: Mark, b: Mark): number {
  return a.t_ms - b.t_ms || (a.phone < b.phone ? -1 : a.phone > b.phone ? 1 : a.seq - b.seq);
}

/** One phone's entries by time, those of one moment as they were made. */
export const earlier = (a: Mark, b: Mark): number => a.t_ms - b.t_ms || a.seq - b.seq;

/**
 * Every usable answer in order of time; of two for the same stretch the later one counts. Entries without
 * a stretch or with another word are not answers to these questions.
 */
export function answered(marks: readonly Mark[], t0_ms: number): Answer[] {
  let out: Answer[] = [];
  for (const mark of inOrder(marks)) {
    if (mark.kind !== "say" && mark.kind !== "blind") continue;
    const word = wordOf(mark.says["answer"]);
    const [start, end] = [ms(mark.says["from_ms"]), ms(mark.says["to_ms"])];
    if (word === null || start === null || end === null || end < start) continue;
    const about = mark.kind === "blind" ? "blind" : text(mark.says["about"]);
    const made = { from_s: (start - t0_ms) / 1000, to_s: (end - t0_ms) / 1000, word, about };
    out = out.filter(
      (a) => a.about !== about || a.from_s !== made.from_s || a.to_s !== made.to_s,
    );
    out.push(made);
  }
  const since = out.filter((a) => a.about === "flow");
  const others = out.filter((a) => a.about !== "flow");
  return [...others, ...flow(marks, t0_ms, since)].sort((a, b) => a.from_s - b.from_s);
}

/**
 * Stretches in which nothing flowed: `up` where surely, `unsure` where it began. `since_ms` is an
 * estimate made afterwards: a third of the time since then may be wrong either way, unless `since_spread_ms`
 * says how much. It lasts until the flow is said to be on, else until the next lift. Without it the stretch
 * since the last lowering is in doubt, until `given` answers for that.
 */
function flow(marks: readonly Mark[], t0_ms: number, given: readonly Answer[]): Answer[] {
  const rows = inOrder(marks.filter((m) => m.kind === "flow" || leverOf(m) !== null));
  const out: Answer[] = [];
  rows.forEach((mark, i) => {
    if (mark.kind !== "flow" || text(mark.says["flow"]).toLowerCase() !== "off") return;
    const said = (mark.t_ms - t0_ms) / 1000;
    const since = ms(mark.says["since_ms"]);
    let begun = since === null ? said : Math.min(said, (since - t0_ms) / 1000);
    const about = "flow";
    if (since === null) {
      const start = lowered(rows.slice(0, i), said, t0_ms);
      const mine = given.filter((a) => covers(a, start, said));
      const word = mine.length > 0 ? mine[mine.length - 1].word : "open";
      if (word === "up") begun = start;
      else if (word !== "down" && start < said) {
        out.push({ from_s: start, to_s: said, word, about });
      }
    }
    const later = rows.slice(i + 1);
    const ends =
      later.find((m) => m.kind === "flow" && m.says["flow"] === "on") ??
      later.find((m) => leverOf(m) === "up");
    const end = ends === undefined ? Infinity : (ends.t_ms - t0_ms) / 1000;
    const spread = since === null ? null : ms(mark.says["since_spread_ms"]);
    const third = since === null ? 0 : (said - begun) * FLOW_SLACK;
    const slack = spread === null ? third : Math.max(spread / 1000, 0);
    if (slack > 0) {
      out.push({ from_s: begun - slack, to_s: begun + slack, word: "unsure", about });
    }
    if (begun + slack < end) out.push({ from_s: begun + slack, to_s: end, word: "up", about });
  });
  return out;
}

/** When the tool last went down, at most FLOW_BACK_S before `said_s`. */
function lowered(before: readonly Mark[], said_s: number, t0_ms: number): number {
  let found = said_s - FLOW_BACK_S;
  let state = "up";
  for (const mark of before) {
    const word = leverOf(mark) ?? state;
    if (word === "down" && state !== "down") found = (mark.t_ms - t0_ms) / 1000;
    state = word;
  }
  return Math.max(found, said_s - FLOW_BACK_S);
}

function leverOf(mark: Mark): "down" | "up" | null {
  const word = mark.says["lever"];
  return word === "down" || word === "up" ? word : null;
}

function inOrder(marks: readonly Mark[]): Mark[] {
  return [...marks].sort(earlier);
}

function text(value: unknown): string {
  return typeof value === "string" ? value : "";
}

function wordOf(value: unknown): Word | null {
  const plain = text(value).trim().toLowerCase();
  return WORDS.find((word) => word === plain) ?? null;
}

function ms(value: unknown): number | null {
  return typeof value === "number" && Number.isFinite(value) ? Math.round(value) : null;
}
