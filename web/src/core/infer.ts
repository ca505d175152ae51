// Taps and answers -> sown runs, doubt and questions.
//
// The taps are the record; an answer settles what they leave open. Nothing is turned into sown or bare
// without having been tapped or answered. Whether the movement contradicts the taps is asked at home.
import { blindStretches } from "./ask";
import type { Track } from "./clean";
import { interpAt } from "./columns";
import { startDelay, stopDelay } from "./lever";
import type { Doubt, Inferred, Sown } from "./outcome";
import { type Span, joined, without } from "./spans";
import { BLIND, STAND } from "./steps";
import type { Answer, Tap } from "./told";
import type { Trail } from "./trail";
import { walks } from "./walk";
import type { Rig } from "./words";

/** A change that no tap marks is drawn as doubt over this way, m. */
const BAND_M = 10;

/** Where the tool was down, what is doubt, what must be asked; taps at lever time. */
export function infer(
  track: Track,
  trail: Trail,
  rig: Rig,
  given: readonly Tap[],
  every: readonly Answer[] = [],
): Inferred {
  const walked = walks(track);
  const flow = every.filter((a) => a.about === "flow");
  const answers = every.filter((a) => a.about !== "flow");
  const idle = spansOf(flow, "up");
  const slack = flow
    .filter((a) => a.word === "unsure")
    .map((a): Doubt => ({ from_s: a.from_s, to_s: a.to_s, why: "flow" }));
  const taps = turned(given, answers);
  const [on, off] = [startDelay(rig.times), stopDelay(rig.times)];
  const seed_s = taps.map((t) => t.t_s + (t.down ? on : off));
  const end = trail.t_s[trail.t_s.length - 1];
  const record = recorded(taps, end);
  const seeded = record.map(([a, b]): Span => [a + on, b < end ? b + off : b]);
  const plain = answers.filter((a) => a.about !== "blind");
  const [saysDown, saysUp] = [spansOf(plain, "down"), spansOf(plain, "up")];
  const settled = plain
    .filter((a) => a.word === "down" || a.word === "up")
    .map((a): Span => [a.from_s, a.to_s]);
  const bands = bandsOf(track, trail, settled, seed_s);
  const blind = blindStretches(trail, seeded, answers, rig);
  const doubts = [...slack, ...bands];
  const taken: Span[] = [
    ...bands.map((d): Span => [d.from_s, d.to_s]),
    ...blind.up,
    ...walked,
    ...idle,
    ...slack.map((d): Span => [d.from_s, d.to_s]),
  ];
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
    runs = record.map(([a, b]) => ({
      down_s: a,
      up_s: b,
      on_s: a + on,
      off_s: b + off,
      how: "tapped",
    }));
  }
  const said = walked.map(
    ([a, b]) => `the phone left the cab at ${a.toFixed(0)} s for ${(b - a).toFixed(0)} s: no strip`,
  );
  const none = new Float64Array(0);
  return {
    runs,
    doubts,
    questions: [...blind.asked].sort((p, q) => p.from_s - q.from_s),
    bridged: blind.bridged,
    notes: [...blind.notes, ...said],
    t_s: none,
    chance: none,
    guessed: false,
    hidden_m2: 0,
  };
}

function spansOf(answers: readonly Answer[], word: string): Span[] {
  return answers.filter((a) => a.word === word).map((a) => [a.from_s, a.to_s]);
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

/** Doubt round the ends of answered stretches that no tap marks. */
function bandsOf(
  track: Track,
  trail: Trail,
  settled: readonly Span[],
  seed_s: readonly number[],
): Doubt[] {
  const out: Doubt[] = [];
  const moving = movingWay(track, trail);
  for (const span of settled) {
    for (const t of span) {
      if (seed_s.some((s) => Math.abs(s - t) < 1.5)) continue;
      const [a, b] = [-1, 1].map((sign) => timeAt(moving, t, (sign * BAND_M) / 2)) as [
        number,
        number,
      ];
      out.push({ from_s: Math.min(a, t), to_s: Math.max(b, t), why: "where it changed" });
    }
  }
  return out;
}

interface Way {
  readonly t_s: Float64Array;
  readonly way_m: Float64Array;
}

/** The way of the bar over time, made to rise where it stands so that it can be asked both ways. */
function movingWay(track: Track, trail: Trail): Way {
  const keep = Array.from(trail.t_s.keys()).filter((i) => {
    const step = track.step[Math.min(trail.fix[i], track.step.length - 1)];
    return step !== STAND && step !== BLIND;
  });
  return {
    t_s: Float64Array.from(keep, (i) => trail.t_s[i]),
    way_m: Float64Array.from(keep, (i, k) => trail.path_m[i] + k * 1e-9),
  };
}

/** The time `by_m` further along the way (negative: back). */
function timeAt({ t_s, way_m }: Way, at_s: number, by_m: number): number {
  return interpAt(interpAt(at_s, t_s, way_m) + by_m, way_m, t_s);
}

function touches(a: number, b: number, others: readonly Span[]): boolean {
  return others.some(([from, to]) => from <= b + 30 && to >= a - 30);
}
