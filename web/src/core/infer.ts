// Taps, answers and movement -> sown runs, doubt and questions.
//
// The taps are the record. Where the chain agrees with it the record stands, to the second. Where it does
// not, the stretch is doubt and a question; an answer settles it. Nothing is turned into sown or bare
// without having been tapped or answered, except on a day without any taps, where runs are guessed and
// said to be.
import {
  type Conflict,
  DOWN_M,
  DOWN_S,
  ENDS_S,
  type Record,
  blindStretches,
  conflicts,
  questions,
  sinceWhen,
} from "./ask";
import { firstNotBelow, interpAt } from "./columns";
import { type Belief, believe } from "./guess";
import { startDelay, stopDelay } from "./lever";
import type { Doubt, Inferred, Sown } from "./outcome";
import { type Span, joined, without } from "./spans";
import type { Evidence } from "./taps";
import { type Driven, type Ticks, ticks } from "./ticks";
import { type Answer, type Tap, covers } from "./told";
import { unaided } from "./unaided";
import { walks } from "./walk";
import type { Flags, Ring } from "./words";

/** An inferred change is drawn as doubt over this way, m. */
const BAND_M = 10;
/** With fewer moving seconds than this nothing is inferred. */
const FEW_S = 30;
/** A tap this near to a change marks it, s. */
const NEAR_S = 1.5;

/**
 * Where the tool was down, what is doubt, what must be asked. Taps are at lever time; `fence` is the
 * paddock on the same plane, keep-outs taken out, null where not known yet, undefined where the taps are to be
 * believed as they are; with `guess` they are left out and the whole split is made from the movement.
 */
export function infer(
  driven: Driven,
  given: readonly Tap[],
  fence: readonly Ring[] | null | undefined,
  every: readonly Answer[] = [],
  guess = false,
): Inferred {
  const { track, trail, rig } = driven;
  // without answers nothing is looked for second by second where the taps are believed
  const second = ticks(driven, fence === undefined && every.length === 0 ? -1 : undefined);
  const free = guess || given.length === 0;
  const walked = walks(track);
  const flow = every.filter((a) => a.about === "flow");
  const answers = every.filter((a) => a.about !== "flow");
  const idle = spansOf(flow, "up");
  const slack = flow
    .filter((a) => a.word === "unsure" || a.word === "open")
    .map((a): Doubt => ({ from_s: a.from_s, to_s: a.to_s, why: "flow" }));
  const since = sinceWhen(second, flow, rig);
  const taps = free ? [] : turned(given, answers);
  const [on, off] = [startDelay(rig.times), stopDelay(rig.times)];
  const seed_s = taps.map((t) => t.t_s + (t.down ? on : off));
  const end = trail.t_s[trail.t_s.length - 1];
  const record = recorded(taps, end);
  const seeded = record.map(([a, b]): Span => [a + on, b < end ? b + off : b]);
  const state = insideOf(second, seeded);
  const plain = answers.filter((a) => a.about !== "blind");
  const evidence = evidenceOf(second, taps, seed_s, state, plain);
  const belief =
    fence === undefined || second.t_s.length < FEW_S
      ? asTapped(state)
      : believe(second, rig.tool.width_m, fence, evidence, free);
  if (free) {
    const found = unaided(driven, second, belief, { walked, idle, answers, told: evidence.told });
    return {
      ...found,
      doubts: [...found.doubts, ...slack],
      questions: [...found.questions, ...since].sort((p, q) => p.from_s - q.from_s),
    };
  }
  const byTaps = { state, seed_s, lever_s: taps.map((t) => t.t_s) };
  const contrary = conflicts(second, belief, byTaps, answers);
  const led = contrary.filter((c) => isLed(c, byTaps, answers));
  const left = contrary.filter((c) => !led.includes(c));
  const found = withUnmarked(second, left, seeded, seed_s, answers);
  const known = (down: boolean): Span[] => [
    ...spansOf(plain, down ? "down" : "up"),
    ...led.filter((c) => c.down === down).map((c): Span => [c.from_s, c.to_s]),
  ];
  const [saysDown, saysUp] = [known(true), known(false)];
  const settled = [...saysDown, ...saysUp];
  const doubts = [
    ...found.map((c) => doubtOf(second, c)),
    ...bandsOf(second, settled, seed_s),
  ];
  const blind = blindStretches(trail, seeded, answers, rig);
  const doubted = [...doubts, ...slack].map((d): Span => [d.from_s, d.to_s]);
  const taken = [...doubted, ...blind.up, ...walked, ...idle];
  const ground = without(seeded, [...saysUp, ...taken]);
  const more = without(without(joined(saysDown), seeded), taken);
  const lever = new Map(record.map(([a]): [number, number] => [a + on, a]));
  const lifts = new Map(record.map(([, b]): [number, number] => [b < end ? b + off : b, b]));
  let runs = [...ground, ...more]
    .sort((p, q) => p[0] - q[0] || p[1] - q[1])
    .map(([a, b]): Sown => {
      const how =
        lever.has(a) && lifts.has(b) ? "tapped" : touches(a, b, settled) ? "afterwards" : "cut";
      const [down_s, up_s] = [lever.get(a) ?? a - on, lifts.get(b) ?? b - off];
      return { down_s, up_s, on_s: a, off_s: b, how };
    });
  if (taken.length === 0 && settled.length === 0) {
    const how = "tapped";
    runs = record.map(([a, b]) => ({ down_s: a, up_s: b, on_s: a + on, off_s: b + off, how }));
  }
  const asked = [...questions(second, trail, found, rig), ...blind.asked, ...since];
  return {
    runs,
    doubts: [...doubts, ...slack],
    questions: asked.sort((p, q) => p.from_s - q.from_s),
    bridged: blind.bridged,
    t_s: second.t_s,
    chance: belief.chance,
    guessed: false,
    hidden_m2: 0,
  };
}

/**
 * What was found, and the runs that the record calls sown with no tap at either of their ends.
 *
 * Where an up was forgotten the record stays down, also over a run driven with the tool up after it: both of
 * its ends are then only inferred. Such a run looks exactly like sowing.
 */
function withUnmarked(
  second: Ticks,
  found: readonly Conflict[],
  seeded: readonly Span[],
  seed_s: readonly number[],
  answers: readonly Answer[],
): Conflict[] {
  const out = [...found];
  if (second.t_s.length === 0) return out; // nothing was seen to move: blind stretches speak for it
  for (const [a, b] of without(seeded, found.map((c): Span => [c.from_s, c.to_s]))) {
    const near = [a, b].some((t) => seed_s.some((tap) => Math.abs(tap - t) < ENDS_S));
    const gone = interpAt(b, second.t_s, second.way_m) - interpAt(a, second.t_s, second.way_m);
    if (near || b - a < DOWN_S || gone < DOWN_M) continue;
    const mine = answers.filter((w) => w.about !== "blind" && covers(w, a, b));
    if (mine.some((w) => w.word === "down" || w.word === "up")) continue;
    out.push({
      kind: "run-without-tap",
      from_s: a,
      to_s: b,
      down: true,
      from_tap: false,
      to_tap: false,
      open: !mine.some((w) => w.word === "unsure"),
      taps: null,
    });
  }
  return out;
}

function spansOf(answers: readonly Answer[], word: string): Span[] {
  return answers.filter((a) => a.word === word).map((a) => [a.from_s, a.to_s]);
}

/**
 * Whether the stretch ends at the first tap of those that were answered to be swapped. That tap's meaning
 * is confirmed, so the tool was the other way just before it; which change was forgotten is thereby known,
 * and only its place is not.
 */
function isLed(c: Conflict, { seed_s, lever_s }: Record, answers: readonly Answer[]): boolean {
  if (c.kind === "inverted" || !c.to_tap) return false;
  return answers
    .filter((a) => a.word === "swapped")
    .some((a) => {
      const mine = seed_s.filter((_, k) => lever_s[k] >= a.from_s && lever_s[k] <= a.to_s);
      return mine.length > 0 && Math.abs(c.to_s - Math.min(...mine)) < ENDS_S;
    });
}

/** Too short a drive to tell anything: the taps as they are. */
function asTapped(state: Flags): Belief {
  return {
    chance: Float64Array.from(state),
    down: state,
    swapped: new Uint8Array(state.length),
  };
}

/** What was tapped and answered; taps that only repeat an answered state tell nothing more. */
function evidenceOf(
  second: Ticks,
  taps: readonly Tap[],
  seed_s: readonly number[],
  record: Flags,
  plain: readonly Answer[],
): Evidence {
  const states = plain.filter((a) => a.word === "down" || a.word === "up");
  const told = new Int32Array(second.t_s.length);
  for (const a of states) {
    second.t_s.forEach((t, i) => {
      if (t >= a.from_s && t < a.to_s) told[i] = a.word === "down" ? 1 : -1;
    });
  }
  const heard = taps
    .map((tap, k) => ({ s: seed_s[k], down: tap.down }))
    .filter(
      ({ s, down }) =>
        !states.some(
          (a) =>
            s >= a.from_s - NEAR_S && s <= a.to_s + NEAR_S && down === (a.word === "down"),
        ),
    );
  const torn: Span[] = [];
  heard.forEach((tap, k) => {
    if (k > 0 && tap.down === heard[k - 1].down) torn.push([heard[k - 1].s, tap.s]);
  });
  return {
    tap_s: heard.map((tap) => tap.s),
    tap_down: heard.map((tap) => tap.down),
    told,
    record,
    open: insideOf(second, torn),
  };
}

/** The taps with those turned about that were answered to be swapped. */
function turned(taps: readonly Tap[], answers: readonly Answer[]): Tap[] {
  const swapped = answers.filter((a) => a.word === "swapped");
  return taps.map(({ t_s, down }) => {
    const about = swapped.some((a) => a.from_s <= t_s && t_s <= a.to_s);
    return { t_s, down: down !== about };
  });
}

/** Down to up as the taps say, repeated taps changing nothing. */
function recorded(taps: readonly Tap[], end_s: number): Span[] {
  const out: Span[] = [];
  let down: number | null = null;
  for (const tap of taps) {
    if (tap.down && down === null) down = tap.t_s;
    else if (!tap.down && down !== null) {
      out.push([down, tap.t_s]);
      down = null;
    }
  }
  if (down !== null && end_s > down) out.push([down, end_s]);
  return out;
}

function insideOf({ t_s }: Ticks, spans: readonly Span[]): Flags {
  const out = new Uint8Array(t_s.length);
  for (const [a, b] of spans) out.fill(1, firstNotBelow(t_s, a), firstNotBelow(t_s, b));
  return out;
}

/** The time `by_m` further along the way (negative: back). */
function timeAt({ t_s, rising_m }: Ticks, at_s: number, by_m: number): number {
  return interpAt(interpAt(at_s, t_s, rising_m) + by_m, rising_m, t_s);
}

function doubtOf(second: Ticks, c: Conflict): Doubt {
  const a = c.from_tap ? c.from_s : timeAt(second, c.from_s, -BAND_M / 2);
  const b = c.to_tap ? c.to_s : timeAt(second, c.to_s, BAND_M / 2);
  return { from_s: Math.min(a, c.from_s), to_s: Math.max(b, c.to_s), why: c.kind };
}

/** Doubt round the ends of answered stretches that no tap marks. */
function bandsOf(second: Ticks, settled: readonly Span[], seed_s: readonly number[]): Doubt[] {
  const out: Doubt[] = [];
  for (const span of settled) {
    for (const t of span) {
      if (seed_s.some((s) => Math.abs(s - t) < NEAR_S)) continue;
      const [a, b] = [timeAt(second, t, -BAND_M / 2), timeAt(second, t, BAND_M / 2)];
      out.push({ from_s: Math.min(a, t), to_s: Math.max(b, t), why: "where it changed" });
    }
  }
  return out;
}

function touches(a: number, b: number, others: readonly Span[]): boolean {
  return others.some(([from, to]) => from <= b + 30 && to >= a - 30);
}
