// Lever times -> runs: when every opener was seeding. With t_d, t_u the lever's times:
//
//     on  = t_d + max(lower, meter + fill)
//     off = min(t_u + raise, t_u + first_starve)
//
// where fill is shortened when the hoses were still charged from a moment ago, and off is not shortened
// where the drain time was never measured.
import type { Fixes, Rig, Run, Times } from "./words";

/** Down and up, UTC ms. */
export type Pair = readonly [number, number];

/** Index of the rig card that holds at a time (the last whose `from_ms` has come). */
export function rigAt(rigs: readonly Rig[], t_ms: number): number {
  let best = 0;
  let since = -Infinity;
  rigs.forEach((rig, i) => {
    const start = rig.from_ms ?? -Infinity;
    if (start <= t_ms && start >= since) [best, since] = [i, start];
  });
  return best;
}

/** Every segment of the source is one run, from its first fix to its last. */
export function runsFromSegments(fixes: Fixes, rigs: readonly Rig[], t0_ms: number): Run[] {
  const spans = new Map<number, { from: number; to: number; count: number }>();
  fixes.segment.forEach((key, i) => {
    const t = fixes.t_ms[i];
    const span = spans.get(key);
    if (span === undefined) spans.set(key, { from: t, to: t, count: 1 });
    else {
      span.from = Math.min(span.from, t);
      span.to = Math.max(span.to, t);
      span.count += 1;
    }
  });
  const pairs = [...spans.values()]
    .filter((span) => span.count > 1)
    .map((span): Pair => [span.from, span.to]);
  return timeRuns(
    pairs.sort((a, b) => a[0] - b[0] || a[1] - b[1]),
    rigs,
    t0_ms,
  );
}

/** Seconds from lowering to seed from every opener, hoses empty. */
export function startDelay(times: Times): number {
  return Math.max(times.lower_s, times.meter_s + times.fill_s);
}

/** Seconds from lifting to the end of seed from every opener. */
export function stopDelay(times: Times): number {
  const starve = times.first_starve_s ?? (times.drain_s === null ? null : 0.7 * times.drain_s);
  return starve === null ? times.raise_s : Math.min(times.raise_s, starve);
}

/** Runs with their seeding times from lever times, cut where a new rig card begins. */
export function timeRuns(pairs: readonly Pair[], rigs: readonly Rig[], t0_ms: number): Run[] {
  const runs: Run[] = [];
  let stopped = -Infinity;
  for (const [down_ms, up_ms] of pairs) {
    const cuts = rigs
      .map((rig) => rig.from_ms)
      .filter((t): t is number => t !== null && down_ms < t && t < up_ms)
      .sort((a, b) => a - b);
    const bounds = [down_ms, ...cuts, up_ms];
    for (let i = 0; i + 1 < bounds.length; i++) {
      const rig = rigAt(rigs, bounds[i]);
      const times = rigs[rig].times;
      const [down_s, up_s] = [(bounds[i] - t0_ms) / 1000, (bounds[i + 1] - t0_ms) / 1000];
      let fill = times.fill_s;
      const drain = times.drain_s ?? times.fill_s;
      const empty = down_s + times.meter_s - stopped;
      if (drain > 0 && empty < drain) fill *= Math.max(0, empty / drain);
      const on_s = i > 0 ? down_s : down_s + Math.max(times.lower_s, times.meter_s + fill);
      let off_s = up_s;
      if (i === bounds.length - 2) {
        off_s += stopDelay(times);
        stopped = up_s;
      }
      runs.push({
        number: runs.length + 1,
        down_s,
        up_s,
        on_s,
        off_s: Math.max(on_s, off_s),
        rig,
        sure: true,
        how: "tapped",
      });
    }
  }
  return runs;
}
