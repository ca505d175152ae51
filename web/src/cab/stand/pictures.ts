// Drawn answers: what a tool in the ground, a lifted one and not knowing look like. Readable in grey.
import { s } from "../dom";

const line = (d: string): SVGElement => s("path", { d, class: "p-line" });
const ground = (): SVGElement => line("M4 52H92");
const bar = (y: number): SVGElement => line(`M14 ${y}H82`);
const points = (from: number, to: number): SVGElement => line([22, 40, 58, 76].map((x) => `M${x} ${from}V${to}`).join(""));
const right = (): SVGElement[] => [line("M18 42L40 64L80 16")];

const PICTURES: Readonly<Record<string, () => SVGElement[]>> = {
  down: () => [ground(), bar(30), points(30, 66), s("path", { d: "M40 4H56V14H66L48 26L30 14H40Z", class: "p-full" })],
  up: () => [ground(), bar(22), points(22, 42), s("path", { d: "M48 56L66 70H56V78H40V70H30Z", class: "p-full" })],
  unsure: () => [ground(), line("M34 22C34 4 62 4 62 22C62 34 48 32 48 44"), s("circle", { cx: 48, cy: 64, r: 5, class: "p-full" })],
  edge: () => [ground(), bar(30), points(30, 66), line("M88 4V80")],
  before: () => [line("M48 12A28 28 0 1 1 22 30M22 10V30H42M48 24V40L60 50")],
  leave: () => [line("M24 18L72 66M72 18L24 66")],
  oops: () => [line("M34 10L16 28L34 46M18 28H56A20 20 0 0 1 56 68H40")],
  again: right,
  swapped: () => [line("M30 70V14M18 26L30 12L42 26M66 12V68M54 56L66 70L78 56")],
  right,
};

/** The picture of an answer; nothing to a screen reader, which reads the words beside it. */
export function picture(answer: string): SVGSVGElement {
  return s("svg", { viewBox: "0 0 96 82", class: "picture", "aria-hidden": "true" }, (PICTURES[answer] ?? PICTURES["unsure"])?.());
}
