// A day without taps: runs where the movement leaves next to no doubt, all other driving doubt.
import { blindStretches, questions, unclear } from "./ask";
import { interpAt } from "./columns";
import type { Belief } from "./guess";
import { startDelay, stopDelay } from "./lever";
import type { Doubt, Inferred, Sown } from "./outcome";
import { type Span, marked, without } from "./spans";
import type { Driven, Ticks } from "./ticks";
import type { Answer } from "./told";

/** Guessed ground is called sown above this chance, in stretches of at least this way, m. */
const SURE = 0.97;
const SHORT_M = 15;
/** So many of the longest guessed runs may have been driven with the tool up. */
const HIDDEN_RUNS = 2;

/** What is known all the same: walks with the phone, stretches without flow, answers. */
export interface Besides {
  readonly walked: readonly Span[];
  readonly idle: readonly Span[];
  readonly answers: readonly Answer[];
  /** +1 where an answer says down, -1 where it says up, one a tick. */
  readonly told: Int32Array;
}

/** Runs above SURE, and all other driving as doubt, but where it was answered up. */
export function unaided(
  { trail, rig }: Driven,
  second: Ticks,
  belief: Belief,
  { walked, idle, answers, told }: Besides,
): Inferred {
  const [on, off] = [startDelay(rig.times), stopDelay(rig.times)];
  const { t_s: t, way_m: way } = second;
  const away = [...walked, ...idle];
  const out = t.map((s, i) => (told[i] < 0 || away.some(([a, b]) => s >= a && s <= b) ? 1 : 0));
  const sure = Uint8Array.from(belief.chance, (c, i) => (c > SURE && out[i] === 0 ? 1 : 0));
  const spans: Span[] = [];
  for (const [a, b] of marked(sure)) {
    if (way[b - 1] - way[a] < SHORT_M) {
      sure.fill(0, a, b);
      continue;
    }
    spans.push([t[a], t[b - 1]]);
  }
  const rest = sure.map((s, i) => (s || out[i] ? 0 : 1));
  const doubts = marked(rest).map(([a, b]): Doubt => {
    const [from_s, to_s] = [t[Math.max(a - 1, 0)], t[Math.min(b, t.length - 1)]];
    return { from_s, to_s, why: "guessed" };
  });
  const blind = blindStretches(trail, spans, answers, rig);
  const runs = without(spans, blind.up).map(
    ([a, b]): Sown => ({ down_s: a - on, up_s: b - off, on_s: a, off_s: b, how: "guessed" }),
  );
  const known = sure.map((s, i) => (s || out[i] ? 1 : 0));
  const asked = [
    ...blind.asked,
    ...questions(second, trail, unclear(second, belief, known, answers), rig),
  ];
  const ways = runs
    .map(({ on_s: a, off_s: b }) => interpAt(b, trail.t_s, trail.path_m) - interpAt(a, trail.t_s, trail.path_m))
    .sort((a, b) => b - a);
  const hidden_m = ways.slice(0, HIDDEN_RUNS).reduce((sum, w) => sum + w, 0);
  return {
    runs,
    doubts,
    questions: asked.sort((p, q) => p.from_s - q.from_s),
    bridged: blind.bridged,
    t_s: t,
    chance: belief.chance,
    guessed: true,
    hidden_m2: hidden_m * rig.tool.width_m,
  };
}
