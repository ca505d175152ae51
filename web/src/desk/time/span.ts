// Arithmetic of the time line: which stretch is looked at, and where a moment lies in it.
import type { AreaUnit } from "../../formats/units";
import type { Lever } from "../nouns";

export interface Span {
  from: number;
  to: number;
}

/** Shortest stretch that is worth looking at, ms. */
export const CLOSEST_MS = 60_000;

export const length = (span: Span): number => span.to - span.from;

/** Where a moment lies across `width`; beyond the ends it lies outside. */
export const across = (ms: number, span: Span, width: number): number => ((ms - span.from) / length(span)) * width;

/** The moment at a place across `width`. */
export const momentAt = (x: number, span: Span, width: number): number => span.from + (x / width) * length(span);

/** The span moved, and shortened if need be, until it lies within `whole`. */
export function within(span: Span, whole: Span): Span {
  const long = Math.min(Math.max(length(span), Math.min(CLOSEST_MS, length(whole))), length(whole));
  const from = Math.min(Math.max(span.from, whole.from), whole.to - long);
  return { from, to: from + long };
}

/** Looks closer (`factor` below 1) or from farther away, about one moment that stays where it is. */
export function closer(span: Span, whole: Span, factor: number, about = (span.from + span.to) / 2): Span {
  const share = (about - span.from) / length(span);
  const long = Math.min(Math.max(length(span) * factor, CLOSEST_MS), length(whole));
  return within({ from: about - share * long, to: about + (1 - share) * long }, whole);
}

/** A span about `middle` that shows at least `needed`, with as much again on both sides. */
export function around(needed: Span, whole: Span, least: number): Span {
  const long = Math.max(length(needed) * 3, least);
  const middle = (needed.from + needed.to) / 2;
  return within({ from: middle - long / 2, to: middle + long / 2 }, whole);
}

/** When the tool was down by the lever entries; the last stretch may be open until `end`. */
export function downSpans(levers: readonly Pick<Lever, "t_ms" | "lever" | "hidden">[], end: number): Span[] {
  const spans: Span[] = [];
  let since: number | null = null;
  for (const { t_ms, lever } of levers.filter((l) => !l.hidden).toSorted((a, b) => a.t_ms - b.t_ms)) {
    if (lever === "down") since ??= t_ms;
    else if (since !== null) {
      spans.push({ from: since, to: t_ms });
      since = null;
    }
  }
  if (since !== null && since < end) spans.push({ from: since, to: end });
  return spans;
}

const STEPS_S = [1, 5, 10, 30, 60, 120, 300, 600, 1800, 3600, 7200, 14400];

/** Moments to write below the line, no nearer together than `apart` of `width`. */
export function ticks(span: Span, width: number, apart = 72): number[] {
  const least = (length(span) / Math.max(width, 1)) * apart;
  const step = (STEPS_S.find((seconds) => seconds * 1000 >= least) ?? 14400) * 1000;
  const found: number[] = [];
  for (let at = Math.ceil(span.from / step) * step; at <= span.to; at += step) found.push(at);
  return found;
}

/** At most `most` of the points that lie in the span; the fastest of each group stays. */
export function thinned(points: readonly (readonly [number, number | null])[], span: Span, most: number): [number, number][] {
  const inside = points.filter((p): p is [number, number] => p[1] !== null && p[0] >= span.from && p[0] <= span.to);
  const group = Math.ceil(inside.length / Math.max(1, most));
  if (group <= 1) return inside;
  const kept: [number, number][] = [];
  for (let i = 0; i < inside.length; i += group) {
    const best = inside.slice(i, i + group).reduce((a, b) => (b[1] > a[1] ? b : a));
    kept.push(best);
  }
  return kept;
}

/** The nearest of time-ordered rows [t, ...] to a moment, or null where there is none near. */
export function nearest<T extends readonly [number, ...unknown[]]>(rows: readonly T[], ms: number, near = 30_000): T | null {
  let low = 0;
  let high = rows.length - 1;
  while (low < high) {
    const middle = (low + high) >> 1;
    if ((rows[middle]?.[0] ?? 0) < ms) low = middle + 1;
    else high = middle;
  }
  const candidates = [rows[low - 1], rows[low]].filter((row): row is T => row !== undefined);
  const best = candidates.toSorted((a, b) => Math.abs(a[0] - ms) - Math.abs(b[0] - ms))[0];
  return best && Math.abs(best[0] - ms) <= near ? best : null;
}

/** Where lines of speed stand, m/s: each 5 km/h (or mph), and the top of the picture above the fastest. */
export function speedScale(fastest: number, unit: AreaUnit): { top: number; lines: number[] } {
  const five = 5 / 3.6 * (unit === "ac" ? 1.609344 : 1);
  const count = Math.min(6, Math.max(2, Math.floor(fastest / five)));
  return { top: Math.max(fastest, count * five) * 1.08, lines: Array.from({ length: count }, (_, i) => (i + 1) * five) };
}
