// The whole day in one narrow line, and where in it the stretch lies that is looked at.
import { draw, s } from "../dom";
import { shown } from "./changes";
import { across, downSpans, length, momentAt, within } from "./span";
import type { StripActs, StripState } from "./strip";

const HEIGHT = 34;

export function drawOverview(into: SVGSVGElement, { timeline, span, changes }: StripState): void {
  const width = Math.max(into.clientWidth, 200);
  const whole = { from: timeline.from_ms, to: timeline.to_ms };
  const x = (ms: number): number => across(ms, whole, width);
  into.setAttribute("viewBox", `0 0 ${width} ${HEIGHT}`);
  const standing = shown(timeline.lever, changes)
    .filter((one) => one.state !== "hidden" && one.state !== "dropped")
    .map(({ t_ms, lever }) => ({ t_ms, lever, hidden: false }));
  draw(
    into,
    s("rect", { class: "strip-band", x: 0, y: 8, width, height: 18 }),
    downSpans(standing, timeline.to_ms).map((one) => s("rect", { class: "strip-down", x: x(one.from), y: 8, width: Math.max(0.8, x(one.to) - x(one.from)), height: 18 })),
    timeline.questions.map((q) => s("rect", { class: "overview-flag", x: x(q.from_ms) - 2, y: 3, width: Math.max(5, x(q.to_ms) - x(q.from_ms) + 4), height: 28 })),
    s("rect", { class: "overview-window", x: Math.max(1, x(span.from)), y: 2, width: Math.max(6, Math.min(width - 1, x(span.to)) - Math.max(1, x(span.from))), height: 30 }),
  );
}

/** Presses and drags on the overview move the stretch that is looked at. */
export function moveByOverview(into: SVGSVGElement, state: () => StripState, acts: StripActs): void {
  const there = (event: PointerEvent): void => {
    const { timeline, span } = state();
    const box = into.getBoundingClientRect();
    const whole = { from: timeline.from_ms, to: timeline.to_ms };
    const middle = momentAt(event.clientX - box.left, whole, box.width);
    acts.look(within({ from: middle - length(span) / 2, to: middle + length(span) / 2 }, whole));
  };
  into.addEventListener("pointerdown", (event) => {
    if (event.button !== 0) return;
    into.setPointerCapture(event.pointerId);
    there(event);
  });
  into.addEventListener("pointermove", (event) => {
    if (into.hasPointerCapture(event.pointerId)) there(event);
  });
}
