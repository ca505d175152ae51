// What became of a day's taps: sown stretches, doubt, questions; and the runs for the picture.
import { timeRuns } from "./lever";
import type { Span } from "./spans";
import type { Floats, Rig, Run } from "./words";

/**
 * Sown ground: lever times, and between `on_s` and `off_s` every opener seeds. `how`: `tapped`,
 * `afterwards` (an end comes from an answer), `cut` (an end lies beside doubt) or `guessed`.
 */
export interface Sown {
  readonly down_s: number;
  readonly up_s: number;
  readonly on_s: number;
  readonly off_s: number;
  readonly how: string;
}

/** Ground that may or may not have been sown, by when the bar passed over it. */
export interface Doubt {
  readonly from_s: number;
  readonly to_s: number;
  readonly why: string;
}

/** One question: the stretch, a place on the plane, and what each answer would sow, m². */
export interface Asked {
  readonly kind: string;
  readonly from_s: number;
  readonly to_s: number;
  readonly x_m: number;
  readonly y_m: number;
  readonly answers: Readonly<Record<string, number>>;
}

/**
 * What became of one phone's day. All times in seconds since the day's first fix.
 *
 * `bridged` are blind stretches that an answer calls sown and whose length agrees with it. `t_s` and
 * `chance` are the chance of down second by second, `guessed` whether the whole split is a guess.
 * `hidden_m2` is what may be bare under guessed runs although nothing shows it: a run driven with the
 * tool up looks exactly like sowing.
 */
export interface Inferred {
  readonly runs: readonly Sown[];
  readonly doubts: readonly Doubt[];
  readonly questions: readonly Asked[];
  readonly bridged: readonly Span[];
  readonly t_s: Floats;
  readonly chance: Floats;
  readonly guessed: boolean;
  readonly hidden_m2: number;
}

/**
 * Runs for the picture: sown ones, and doubt as runs that are not sure. With nothing inferred they are
 * exactly those of the taps.
 */
export function asRuns(found: Inferred, rigs: readonly Rig[], t0_ms: number): Run[] {
  const ms = (t_s: number): number => Math.round(t0_ms + t_s * 1000);
  const pairs = found.runs.map((r): [number, number] => [ms(r.down_s), ms(r.up_s)]);
  const runs = timeRuns(pairs, rigs, t0_ms).map((run): Run => {
    const mine = found.runs.find(
      (r) => r.down_s - 1e-3 <= run.down_s && run.up_s <= r.up_s + 1e-3,
    );
    const cut = mine !== undefined && mine.how !== "tapped";
    const on_s = cut ? Math.max(run.on_s, mine.on_s) : run.on_s;
    const off_s = Math.max(on_s, cut ? Math.min(run.off_s, mine.off_s) : run.off_s);
    return Object.assign(run, { on_s, off_s, how: mine?.how ?? "tapped" });
  });
  for (const { from_s, to_s, why } of found.doubts) {
    const rig = timeRuns([[ms(from_s), ms(to_s)]], rigs, t0_ms)[0]?.rig ?? 0;
    const span = { down_s: from_s, up_s: to_s, on_s: from_s, off_s: to_s };
    runs.push({ number: 0, ...span, rig, sure: false, how: why });
  }
  runs.sort((a, b) => a.on_s - b.on_s);
  return runs.map((run, i) => Object.assign(run, { number: i + 1 }));
}
