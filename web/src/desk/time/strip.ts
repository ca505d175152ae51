// The stretch of the day that is looked at: speed above, the lever below, a grip at each change.
import { draw, s } from "../dom";
import type { Timeline } from "../nouns";
import * as say from "../say";
import { desk } from "../state";
import { t } from "../words";
import { shown, type Change, type Shown } from "./changes";
import { across, downSpans, length, momentAt, speedScale, thinned, ticks, type Span } from "./span";

const HEIGHT = 214;
const SPEED = { top: 26, bottom: 92 };
const BAND = { top: 100, bottom: 132 };
const GRIPS = { down: 136, up: 164, size: 26 };
const EDGE = 8;

export interface StripState {
  timeline: Timeline;
  span: Span;
  changes: readonly Change[];
  selected: string | null;
  cursor: number | null;
}
export interface StripActs {
  select(key: string): void;
  /** Moves one change while it is dragged (`done` false) and when it is let go. */
  move(what: Shown, to_ms: number, done: boolean): void;
  cursor(ms: number): void;
  look(span: Span): void;
}

/** Draws into `into` (an SVG of this height) at its present width. */
export function drawStrip(into: SVGSVGElement, state: StripState, acts: StripActs): void {
  const width = Math.max(into.clientWidth, 200);
  const { timeline, span } = state;
  const x = (ms: number): number => EDGE + across(ms, span, width - 2 * EDGE);
  into.setAttribute("viewBox", `0 0 ${width} ${HEIGHT}`);
  const all = shown(timeline.lever, state.changes);
  const standing = all.filter((one) => one.state !== "hidden" && one.state !== "dropped");
  const spans = downSpans(standing.map(({ t_ms, lever }) => ({ t_ms, lever, hidden: false })), timeline.to_ms);
  const near = (ms: number): boolean => ms >= span.from && ms <= span.to;
  draw(
    into,
    defs(),
    s("rect", { class: "strip-ground", x: 0, y: SPEED.top, width, height: BAND.bottom - SPEED.top }),
    speedLine(timeline, span, x, width),
    s("rect", { class: "strip-band", x: 0, y: BAND.top, width, height: BAND.bottom - BAND.top }),
    spans.filter((one) => one.to > span.from && one.from < span.to).map((one) => block("strip-down", one, x, width)),
    timeline.doubt.filter(([from, to]) => to > span.from && from < span.to).map(([from, to]) => block("strip-doubt", { from, to }, x, width)),
    timeline.questions.filter((q) => q.to_ms > span.from && q.from_ms < span.to).map((q) => flag(q.number, q.from_ms, q.to_ms, x, width)),
    marks(span, x, width),
    state.cursor !== null && near(state.cursor) && s("line", { class: "strip-cursor", x1: x(state.cursor), x2: x(state.cursor), y1: SPEED.top, y2: BAND.bottom }),
    all.filter((one) => near(one.t_ms)).map((one) => grip(one, all, state, x, width, acts)),
  );
}

/** The moment under a place on the strip. */
export const momentUnder = (into: SVGSVGElement, clientX: number, span: Span): number => {
  const box = into.getBoundingClientRect();
  return momentAt(clientX - box.left - EDGE, span, Math.max(box.width, 200) - 2 * EDGE);
};

function defs(): SVGElement {
  return s(
    "defs",
    {},
    s("pattern", { id: "strip-dots", width: 6, height: 6, patternUnits: "userSpaceOnUse" }, s("rect", { class: "dots-ground", width: 6, height: 6 }), s("circle", { class: "dots-ink", cx: 3, cy: 3, r: 1.35 })),
  );
}

function speedLine(timeline: Timeline, span: Span, x: (ms: number) => number, width: number): SVGElement {
  const beyond = length(span) * 0.02;
  const points = thinned(timeline.speed, { from: span.from - beyond, to: span.to + beyond }, width);
  const { top, lines } = speedScale(Math.max(0, ...points.map(([, v]) => v)), desk.get().settings.units);
  const y = (v: number): number => SPEED.bottom - (Math.min(Math.max(0, v), top) / top) * (SPEED.bottom - SPEED.top);
  // a gap in the positions is a gap in the line
  const gaps = timeline.gaps ?? [];
  let before = Number.POSITIVE_INFINITY;
  const path = points.map(([ms, v]) => {
    const jump = before > ms || gaps.some(([from, to]) => from >= before && to <= ms);
    before = ms;
    return `${jump ? "M" : "L"}${x(ms).toFixed(1)} ${y(v).toFixed(1)}`;
  });
  return s(
    "g",
    {},
    lines.map((v) => s("line", { class: "strip-grid", x1: 0, x2: width, y1: y(v), y2: y(v) })),
    s("path", { class: "strip-speed", d: path.join("") }),
    lines.slice(-1).map((v) => s("rect", { class: "strip-ground", x: 0, y: y(v) + 2, width: say.speed(v).length * 7, height: 15 })),
    lines.slice(-1).map((v) => s("text", { class: "strip-text halo", x: 4, y: y(v) + 14 }, say.speed(v).replace(".0", ""))),
  );
}

function block(kind: string, { from, to }: Span, x: (ms: number) => number, width: number): SVGElement {
  const left = Math.max(-2, x(from));
  return s("rect", { class: kind, x: left, y: BAND.top, width: Math.max(1, Math.min(width + 2, x(to)) - left), height: BAND.bottom - BAND.top });
}

function flag(number: number, from: number, to: number, x: (ms: number) => number, width: number): SVGElement {
  const left = Math.max(0, x(from));
  const right = Math.min(width, x(to));
  return s(
    "g",
    { class: "strip-flag" },
    s("path", { d: `M${left} ${BAND.bottom}V8H${Math.max(left + 1, right)}V${BAND.bottom}` }),
    s("text", { class: "strip-text", x: Math.min(Math.max(left + 4, 4), width - 60), y: 22 }, t.time.flag(number)),
  );
}

function marks(span: Span, x: (ms: number) => number, width: number): SVGElement {
  const shownTicks = ticks(span, width, length(span) < 1_200_000 ? 88 : 64);
  // seconds only where one falls between two minutes: a narrow line has no room for more
  const text = shownTicks.every((ms) => ms % 60_000 === 0) ? say.minute : say.clock;
  return s(
    "g",
    { "aria-hidden": "true" },
    shownTicks.flatMap((ms) => {
      const at = x(ms);
      const anchor = at < 40 ? "start" : at > width - 40 ? "end" : "middle";
      return [s("line", { class: "strip-tick", x1: at, x2: at, y1: BAND.bottom, y2: BAND.bottom + 4 }), s("text", { class: "strip-text", x: at, y: HEIGHT - 6, "text-anchor": anchor }, text(ms))];
    }),
  );
}

/** One change of the lever that can be dragged; a slider for keyboards and screen readers. */
function grip(one: Shown, all: readonly Shown[], state: StripState, x: (ms: number) => number, width: number, acts: StripActs): SVGElement {
  const at = x(one.t_ms);
  const top = GRIPS[one.lever];
  const half = GRIPS.size / 2;
  const fixed = one.state === "hidden" || one.state === "dropped";
  const wedge = one.lever === "down" ? `M${at - half} ${top}h${GRIPS.size}l${-half} ${GRIPS.size - 3}z` : `M${at} ${top}l${half} ${GRIPS.size - 3}h${-GRIPS.size}z`;
  const selected = state.selected === one.key;
  const limits = limitsOf(one, all, state.timeline);
  const made = s(
    "g",
    {
      class: `grip ${one.state}${selected ? " selected" : ""}`,
      id: `grip-${one.key}`,
      tabindex: selected || (state.selected === null && one === all.find((o) => o.t_ms >= state.span.from)) ? 0 : -1,
      role: "slider",
      "aria-label": t.time.grip(one.lever, one.state),
      "aria-valuemin": limits.from,
      "aria-valuemax": limits.to,
      "aria-valuenow": one.t_ms,
      "aria-valuetext": say.clock(one.t_ms),
      "aria-disabled": fixed ? "true" : null,
    },
    s("line", { class: "grip-line", x1: at, x2: at, y1: SPEED.top, y2: top }),
    s("rect", { class: "grip-hand", x: at - 16, y: top - 2, width: 32, height: GRIPS.size + 2 }),
    s("path", { class: "grip-wedge", d: wedge }),
  );
  made.addEventListener("focus", () => state.selected !== one.key && acts.select(one.key));
  if (!fixed) {
    made.addEventListener("keydown", (event) => nudge(event, one, limits, acts));
    made.addEventListener("pointerdown", (event) => drag(event, one, limits, state.span, width, acts));
  } else made.addEventListener("pointerdown", () => acts.select(one.key));
  return made;
}

/** A change stays between its neighbours: what is in the way has to be taken out first. */
export function limitsOf(one: Shown, all: readonly Shown[], timeline: Timeline): Span {
  const others = all.filter((o) => o.key !== one.key && o.state !== "hidden" && o.state !== "dropped").map((o) => o.t_ms);
  const before = others.filter((ms) => ms <= one.t_ms);
  const after = others.filter((ms) => ms > one.t_ms);
  return {
    from: before.length ? Math.max(...before) + 1_000 : timeline.from_ms,
    to: after.length ? Math.min(...after) - 1_000 : timeline.to_ms,
  };
}

const clamped = (ms: number, limits: Span): number => Math.min(Math.max(ms, limits.from), Math.max(limits.from, limits.to));

function nudge(event: KeyboardEvent, one: Shown, limits: Span, acts: StripActs): void {
  const steps: Record<string, number> = { ArrowLeft: -1_000, ArrowDown: -1_000, ArrowRight: 1_000, ArrowUp: 1_000, PageDown: -60_000, PageUp: 60_000 };
  const step = steps[event.key];
  if (step === undefined) return;
  event.preventDefault();
  acts.move(one, clamped(one.t_ms + step * (event.shiftKey ? 10 : 1), limits), true);
}

function drag(event: PointerEvent, one: Shown, limits: Span, span: Span, width: number, acts: StripActs): void {
  if (event.button !== 0) return;
  event.preventDefault();
  event.stopPropagation();
  acts.select(one.key);
  document.getElementById(`grip-${one.key}`)?.focus({ preventScroll: true });
  const from = event.clientX;
  let last = one.t_ms;
  const follow = (moved: PointerEvent): void => {
    if (Math.abs(moved.clientX - from) < 3 && last === one.t_ms) return; // a shaking hand is no drag
    const step = ((moved.clientX - from) / (width - 2 * EDGE)) * length(span);
    // whole seconds: finer than a lever is pulled
    last = clamped(Math.round((one.t_ms + step) / 1_000) * 1_000, limits);
    acts.move(one, last, false);
  };
  const end = (): void => {
    removeEventListener("pointermove", follow);
    removeEventListener("pointerup", end);
    removeEventListener("pointercancel", end);
    if (last !== one.t_ms) acts.move(one, last, true);
  };
  addEventListener("pointermove", follow);
  addEventListener("pointerup", end);
  addEventListener("pointercancel", end);
}
