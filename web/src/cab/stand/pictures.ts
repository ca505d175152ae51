// Drawn answers: what a tool in the ground, a lifted one and not knowing look like. Readable in grey.
import { s } from "../dom";

const ground = (): SVGElement => s("path", { d: "M4 52H92", class: "p-line" });
const bar = (y: number): SVGElement => s("path", { d: `M14 ${y}H82`, class: "p-line" });
const points = (from: number, to: number): SVGElement => s("path", { d: [22, 40, 58, 76].map((x) => `M${x} ${from}V${to}`).join(""), class: "p-line" });

const PICTURES: Readonly<Record<string, () => SVGElement[]>> = {
  down: () => [ground(), bar(30), points(30, 66), s("path", { d: "M40 4H56V14H66L48 26L30 14H40Z", class: "p-full" })],
  up: () => [ground(), bar(22), points(22, 42), s("path", { d: "M48 56L66 70H56V78H40V70H30Z", class: "p-full" })],
  unsure: () => [ground(), s("path", { d: "M34 22C34 4 62 4 62 22C62 34 48 32 48 44", class: "p-line" }), s("circle", { cx: 48, cy: 64, r: 5, class: "p-full" })],
  edge: () => [ground(), bar(30), points(30, 66), s("path", { d: "M88 4V80", class: "p-line" })],
  before: () => [s("path", { d: "M48 12A28 28 0 1 1 22 30M22 10V30H42M48 24V40L60 50", class: "p-line" })],
  leave: () => [s("path", { d: "M24 18L72 66M72 18L24 66", class: "p-line" })],
  oops: () => [s("path", { d: "M34 10L16 28L34 46M18 28H56A20 20 0 0 1 56 68H40", class: "p-line" })],
  again: () => [s("path", { d: "M20 14H76V68H20ZM34 40L44 52L64 28", class: "p-line" })],
  swapped: () => [s("path", { d: "M30 70V14M18 26L30 12L42 26M66 12V68M54 56L66 70L78 56", class: "p-line" })],
  right: () => [s("path", { d: "M18 42L40 64L80 16", class: "p-line" })],
};

/** The picture of an answer; nothing to a screen reader, which reads the words beside it. */
export function picture(answer: string): SVGSVGElement {
  return s("svg", { viewBox: "0 0 96 82", class: "picture", "aria-hidden": "true" }, (PICTURES[answer] ?? PICTURES["unsure"])?.());
}
