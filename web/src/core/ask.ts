// Where the movement contradicts the taps, and what to ask about it.
//
// A question is about one stretch: was the tool down or up there, or were the taps in it swapped. Small
// contradictions are not worth asking for: the record stands.
import { firstNotBelow, hypot, interpAt, mean } from "./columns";
import type { Belief } from "./guess";
import type { Asked } from "./outcome";
import { type Span, marked } from "./spans";
import type { Ticks } from "./ticks";
import { type Answer, covers } from "./told";
import type { Trail } from "./trail";
import type { Flags, Floats, Rig } from "./words";

/** Shortest contradiction: tool up where taps say down, and down where they say up (s, m). */
const UP_S = 6;
const UP_M = 8;
export const DOWN_S = 12;
/**
 * Backing for this long is worth asking about where taps say down: it adds no way, and no tool is backed in
 * the ground, s.
 */
const BACKED_S = 3;
export const DOWN_M = 20;
/** Without taps, only unclear stretches of at least this way are asked about, m. */
const UNCLEAR_M = 60;
/** A stretch ends at a tap when it does within this, s. */
export const ENDS_S = 1.5;
/** Blind stretches shorter than this are left as doubt without a question, s. */
const BLIND_S = 5.5;
/** An answered blind stretch is bridged when its length is this near to speed times time. */
const BRIDGE = 0.1;

/**
 * A stretch in which movement and taps disagree, on the seed's clock, seconds. `from_tap` and `to_tap`
 * tell whether a tap stands at that end; `open` false: it was answered with unsure and is not asked again.
 * `taps` is the lever time from the first to the last tap that seems swapped.
 */
export interface Conflict {
  readonly kind: string;
  readonly from_s: number;
  readonly to_s: number;
  readonly down: boolean;
  readonly from_tap: boolean;
  readonly to_tap: boolean;
  readonly open: boolean;
  readonly taps: Span | null;
}

/** What the movement is held against: the taps' state a tick, and the taps on both clocks. */
export interface Record {
  readonly state: Flags;
  readonly seed_s: readonly number[];
  readonly lever_s: readonly number[];
}

/** Contradictions between the taps' states and the most probable ones. */
export function conflicts(
  ticks: Ticks,
  belief: Belief,
  record: Record,
  answers: readonly Answer[],
): Conflict[] {
  const model = belief.down;
  const states = answers.filter((a) => a.about !== "blind" && (a.word === "down" || a.word === "up"));
  const differ = model.map((down, i) => {
    const t = ticks.t_s[i];
    const told = states.some((a) => t >= a.from_s && t < a.to_s);
    return !told && down !== record.state[i] ? 1 : 0;
  });
  const { out, begun } = inverted(ticks, belief, record, differ, answers);
  for (const [a, b] of marked(differ)) {
    const down = model[a] === 1;
    const gone = ticks.way_m[b - 1] - ticks.way_m[a];
    const c = conflict("forgotten-up", ticks, a, b, down, record.seed_s);
    // the change whose forgetting began an inversion is settled by the answer to that
    const led = c.to_tap && begun.some((first) => Math.abs(c.to_s - first) < ENDS_S);
    const atTap = c.from_tap || c.to_tap;
    const backed = !down && ticks.backing.subarray(a, b).reduce((n, yes) => n + yes, 0) >= BACKED_S;
    const small = (b - a < (down ? DOWN_S : UP_S) || gone < (down ? DOWN_M : UP_M)) && !backed;
    if (small && !atTap) continue;
    const kind = !down ? "forgotten-up" : atTap ? "forgotten-down" : "run-without-tap";
    out.push({ ...c, kind, open: !led });
  }
  const unsure = answers.filter((given) => given.word === "unsure");
  return out
    .sort((p, q) => p.from_s - q.from_s)
    .map((c) => {
      const [from, to] = c.taps ?? [c.from_s, c.to_s];
      return unsure.some((given) => covers(given, from, to)) ? Object.assign(c, { open: false }) : c;
    });
}

/**
 * Stretches in which taps seem swapped, and when on the seed's clock those that were not answered begin;
 * what they explain is taken out of `differ`.
 */
function inverted(
  ticks: Ticks,
  belief: Belief,
  record: Record,
  differ: Flags,
  answers: readonly Answer[],
): { out: Conflict[]; begun: number[] } {
  const out: Conflict[] = [];
  const begun: number[] = [];
  for (const [a, b] of marked(belief.swapped)) {
    const at: number[] = [];
    for (let i = a; i < b; i++) if (differ[i]) at.push(i);
    const mine = Array.from(record.seed_s.keys()).filter((k) => {
      const tick = firstNotBelow(ticks.t_s, record.seed_s[k]);
      return tick >= a && tick < b;
    });
    if (at.length < DOWN_S || mine.length === 0) continue;
    differ.fill(0, a, b);
    const lever = mine.map((k) => record.lever_s[k]);
    const span: Span = [Math.min(...lever) - 0.5, Math.max(...lever) + 0.5];
    if (answers.some((given) => given.word === "right" && covers(given, ...span))) continue;
    const c = conflict("inverted", ticks, at[0], at[at.length - 1] + 1, true, record.seed_s);
    out.push({ ...c, taps: span });
    begun.push(Math.min(...mine.map((k) => record.seed_s[k])));
  }
  return { out, begun };
}

/** Stretches of a day without taps that are rather down than up, but not surely. */
export function unclear(
  ticks: Ticks,
  belief: Belief,
  settled: Flags,
  answers: readonly Answer[],
): Conflict[] {
  const out: Conflict[] = [];
  for (const [a, b] of marked(belief.chance.map((c, i) => (c > 0.5 && !settled[i] ? 1 : 0)))) {
    if (ticks.way_m[b - 1] - ticks.way_m[a] < UNCLEAR_M) continue;
    const [from_s, to_s] = [ticks.t_s[a], ticks.t_s[b - 1]];
    if (answers.some((given) => covers(given, from_s, to_s))) continue;
    const rest = { down: true, from_tap: false, to_tap: false, open: true, taps: null };
    out.push({ kind: "run-without-tap", from_s, to_s, ...rest });
  }
  return out;
}

function conflict(
  kind: string,
  ticks: Ticks,
  first: number,
  end: number,
  down: boolean,
  seed_s: readonly number[],
): Conflict {
  const t = ticks.t_s;
  const [from_s, to_s] = [t[first], t[Math.min(end, t.length - 1)]];
  const tap = (lo: number, hi: number): boolean =>
    seed_s.some((s) => s > lo - 1e-6 && s <= hi + 1e-6);
  const from_tap = tap(t[Math.max(first - 1, 0)], from_s);
  const to_tap = tap(t[end - 1], to_s);
  // the state of a second is that of its end: an untapped change lies in the middle before it
  return {
    kind,
    from_s: from_s - (from_tap || first === 0 ? 0 : 0.5),
    to_s: to_s - (to_tap || end === t.length ? 0 : 0.5),
    down,
    from_tap,
    to_tap,
    open: true,
    taps: null,
  };
}

/** One question for each open contradiction. */
export function questions(
  ticks: Ticks,
  trail: Trail,
  found: readonly Conflict[],
  rig: Rig,
): Asked[] {
  return found
    .filter((c) => c.open)
    .map((c) => {
      const halfway = firstNotBelow(ticks.t_s, (c.from_s + c.to_s) / 2);
      const middle = Math.min(halfway, ticks.t_s.length - 1);
      const way = [c.from_s, c.to_s].map((t) => interpAt(t, trail.t_s, trail.path_m));
      const area = (way[1] - way[0]) * rig.tool.width_m;
      const [from_s, to_s] = c.taps ?? [c.from_s, c.to_s];
      return {
        kind: c.kind,
        from_s,
        to_s,
        x_m: ticks.x_m[middle],
        y_m: ticks.y_m[middle],
        answers:
          c.kind === "inverted"
            ? { swapped: area, right: area, unsure: 0 }
            : { down: area, up: 0, unsure: 0 },
      };
    });
}

/** One question for each time that seed was said not to flow without since when. */
export function sinceWhen(ticks: Ticks, answers: readonly Answer[], rig: Rig): Asked[] {
  if (ticks.t_s.length === 0) return [];
  const at = (t: number, values: Floats): number => interpAt(t, ticks.t_s, values);
  return answers
    .filter((a) => a.word === "open")
    .map(({ from_s, to_s }) => {
      const middle = (from_s + to_s) / 2;
      const area = (at(to_s, ticks.way_m) - at(from_s, ticks.way_m)) * rig.tool.width_m;
      return {
        kind: "flow",
        from_s,
        to_s,
        x_m: at(middle, ticks.x_m),
        y_m: at(middle, ticks.y_m),
        answers: { down: area, up: 0, unsure: 0 },
      };
    });
}

/** What blind stretches came to: questions, those bridged, and those answered up. */
export interface Blind {
  readonly asked: Asked[];
  readonly bridged: Span[];
  readonly up: Span[];
}

/** Questions for blind stretches that touch seeded ground, and what answers made of others. */
export function blindStretches(
  trail: Trail,
  seeded: readonly Span[],
  answers: readonly Answer[],
  rig: Rig,
): Blind {
  const out: Blind = { asked: [], bridged: [], up: [] };
  for (const [i, j] of marked(trail.blind)) {
    const [a, b] = [trail.t_s[i], trail.t_s[j]];
    if (!seeded.some(([lo, hi]) => lo < b && hi > a)) continue;
    const straight = hypot(trail.x_m[j] - trail.x_m[i], trail.y_m[j] - trail.y_m[i]);
    const given = answers.filter((w) => w.about === "blind" && covers(w, a, b));
    if (given.length === 0) {
      if (b - a >= BLIND_S) out.asked.push(asked(trail, i, j, straight, rig));
      continue;
    }
    const before = mean(trail.speed_m_s.subarray(Math.max(i - 5, 0), i + 1));
    const after = mean(trail.speed_m_s.subarray(j, j + 6));
    const expected = ((before + after) / 2) * (b - a);
    const { word } = given[given.length - 1];
    if (word === "up") out.up.push([a, b]);
    else if (word === "down" && Math.abs(straight - expected) <= BRIDGE * expected) {
      out.bridged.push([a, b]);
    }
  }
  return out;
}

function asked(trail: Trail, i: number, j: number, straight_m: number, rig: Rig): Asked {
  const [from_s, to_s] = [trail.t_s[i], trail.t_s[j]];
  return {
    kind: "blind",
    from_s,
    to_s,
    x_m: (trail.x_m[i] + trail.x_m[j]) / 2,
    y_m: (trail.y_m[i] + trail.y_m[j]) / 2,
    answers: { down: straight_m * rig.tool.width_m, up: 0, unsure: 0 },
  };
}
