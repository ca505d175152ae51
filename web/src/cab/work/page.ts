// The working page, the only one while moving: the ground, three texts, a row of three, and the pad.
import { h, put, s, type Child } from "../dom";
import { bins, scarce } from "../bins";
import { aim } from "../gate/aim";
import { choices } from "../choices";
import { go, type Page } from "../route";
import { cab } from "../state";
import { distance, unit } from "../say";
import { ACRE_M2, FOOT_M } from "../../formats/units";
import { t } from "../words";
import { countOf } from "./cuer";
import { driving, type Driving } from "./driving";
import { acts, beginDrive, onFlash, shine, tones } from "./engine";
import { nextFrame, noFrame } from "./frame";
import { makeGround } from "./ground";
import { makePad, onTouch } from "./pad";
import { urgent } from "./urgent";

/** After so long on a steady run the page goes dark, s; a touch beside the pad lights it as long, ms. */
const DIM_S = 20;
const LIT_MS = 20_000;
/** The working width in the drawing of how well the place is known, px. */
const WIDTH_PX = 56;

export function workPage(): Page {
  tones.wake();
  if (!driving.get().on) tones.play("mark"); // heard at the start, or the volume is too low
  void beginDrive();
  const ground = makeGround();
  const pad = makePad(() => void acts.tap());
  const number = h("strong", { class: "number" });
  const unitOf = h("span", {});
  const sown = h("p", { class: "sown-ha" }, number, " ", unitOf);
  const line = h("p", { class: "urgent", role: "status" });
  const quality = h("p", { class: "quality" });
  const flow = rowButton("flow", drop(), t.work.notFlowing, () => void acts.flow());
  // where there is no position there is nothing to mark, and no standing still that could be seen
  const stands = rowButton("stands", seat(), t.work.stands, () => go("standing"));
  const mark = rowButton("mark", flag(), t.work.mark, () => void acts.mark());
  const row = h("div", { class: "row", role: "group", "aria-label": t.work.row }, mark, stands, flow, rowButton("oops", back(), t.work.oops, () => void acts.oops()));
  const rim = h("div", { class: "flash", hidden: true });
  const body = h("div", { class: "work" }, h("h1", { class: "spoken" }, t.work.title), h("div", { class: "sight" }, ground.body, sown, quality, line), row, pad.body, rim);
  let lit = 0;
  const dim = (state: Driving): void => {
    const dark = dims(state) && (state.now?.t_ms ?? 0) > lit;
    body.classList.toggle("dim", dark);
    document.documentElement.classList.toggle("dimmed", dark);
    ground.hide(dark);
  };
  body.addEventListener("pointerdown", () => {
    tones.wake();
    lit = (driving.get().now?.t_ms ?? 0) + LIT_MS;
    dim(driving.get());
  });
  const show = (): void => {
    const state = driving.get();
    const { now } = state;
    pad.show(cab.get().lever === "down", state.unstored === 0 && cab.get().trouble === null);
    pad.body.disabled = !cab.get().writes;
    figures(number, unitOf, now?.sown_ha ?? null);
    accuracy(quality, state);
    const count = now === null ? null : countOf(now.rig, now.usual_m_s, cab.get().pack?.settings.prices ?? null);
    text(line, urgent({ cab: cab.get(), driving: state, count, aim: aim.get().aim, scarce: scarce(bins.get().bins) }));
    const stopped = now !== null && !now.flowing;
    stands.hidden = !(state.lost && cab.get().lever === "up");
    mark.hidden = !stands.hidden;
    if (text(flow.lastElementChild, stopped ? t.work.flowsAgain : t.work.notFlowing)) flow.setAttribute("aria-pressed", String(stopped));
    dim(state);
    shine();
  };
  const ends = [
    driving.watch(["now"], () => nextFrame(show)),
    driving.watch(["silent", "lost", "trouble", "unstored", "doubt", "strains", "seldom", "making", "left_ms"], show),
    cab.watch(["lever", "trouble", "writes", "battery", "awake", "pack"], show),
    aim.watch(["aim"], show),
    bins.watch(["bins"], show),
    choices.watch(["hand"], ({ hand }) => body.classList.toggle("left", hand === "left")),
  ];
  onFlash((ms) => flashed(rim, ms));
  document.documentElement.classList.add("working");
  const close = (): void => {
    ends.forEach((end) => end());
    noFrame(show);
    ground.close();
    onFlash(() => undefined);
    document.documentElement.classList.remove("working", "dimmed");
  };
  return { title: t.work.title, body, close };
}

/** Nothing has to be looked at on a steady run. */
function dims({ now, silent, trouble, doubt, left_ms, unstored, live }: Driving): boolean {
  if (now === null || live === null || silent || trouble !== null || doubt !== null || left_ms !== null || unstored > 0 || !now.flowing) return false;
  return now.steady_s >= DIM_S && !(now.edge !== null && now.edge.past_m > -3 * Math.max(now.speed_m_s, 1));
}

function figures(number: Element, unitOf: Element, ha: number | null): void {
  if (ha === null) {
    text(number, "–");
    text(unitOf, unit());
    return;
  }
  const value = unit() === "ac" ? (ha * 10_000) / ACRE_M2 : ha;
  text(number, value.toFixed(value < 9.995 ? 2 : 1));
  text(unitOf, unit());
}

/** How well the place is known, as the phone says it, drawn against the working width. */
function accuracy(quality: Element, { now, silent }: Driving): void {
  const acc = now === null || silent ? Number.NaN : now.acc_m;
  const says = Number.isFinite(acc) ? `± ${precise(acc)}` : t.work.unknown;
  const width_m = now?.rig?.tool.width_m ?? null;
  const key = `${says} ${width_m ?? ""}`;
  if (quality.getAttribute("data-is") === key) return;
  quality.setAttribute("data-is", key);
  quality.setAttribute("aria-label", t.work.accuracy(says));
  put(quality, h("span", {}, says), width_m === null || !Number.isFinite(acc) ? null : ruler(width_m, acc));
}

/** To half a metre where that was measured, else as a driver would pace it. */
function precise(acc_m: number): string {
  if (unit() === "ac") return `${(acc_m / FOOT_M).toFixed(0)} ft`;
  return acc_m < 10 ? `${String(Math.max(Math.round(acc_m * 2) / 2, 0.5))} m` : distance(acc_m);
}

function ruler(width_m: number, acc_m: number): Child {
  const px = WIDTH_PX / width_m;
  const span = Math.min(2 * acc_m * px, 88);
  return s(
    "svg",
    { viewBox: "0 0 92 26", class: "ruler", "aria-hidden": "true" },
    s("path", { d: `M${46 - WIDTH_PX / 2} 8 h${WIDTH_PX}`, class: "bar" }),
    s("path", { d: `M${46 - span / 2} 14 v10 M${46 + span / 2} 14 v10 M${46 - span / 2} 19 h${span}`, class: "span" }),
  );
}

/** What was written where: reading it back from the page costs more than all the rest. */
const written = new WeakMap<Element, string>();

/** Writes what is not there yet; whether it did. */
function text(into: Element | null, says: string): boolean {
  if (into === null || written.get(into) === says) return false;
  written.set(into, says);
  into.textContent = says;
  return true;
}

function rowButton(name: string, drawing: SVGElement, says: string, act: () => void): HTMLButtonElement {
  const made = h("button", { type: "button", class: "third", "data-act": name }, drawing, h("span", {}, says));
  onTouch(made, act);
  return made;
}

const small = (...paths: readonly string[]): SVGElement => s("svg", { viewBox: "0 0 40 40", class: "drawing", "aria-hidden": "true" }, paths.map((d) => s("path", { d })));
/** A peg in the ground. */
const flag = (): SVGElement => small("M20 3 V31 M8 33 H32 M20 5 L34 11 L20 17");
/** A wheel that stands. */
const seat = (): SVGElement => small("M20 6 a12 12 0 1 0 0.1 0 Z M20 15 a3 3 0 1 0 0.1 0 Z M4 34 H36");
/** Grains that do not fall. */
const drop = (): SVGElement => small("M8 5 H32 L25 17 H15 Z M20 22 v3 M20 29 v3 M6 36 L34 20");
/** Back to where it was. */
const back = (): SVGElement => small("M15 7 L6 16 L15 25 M7 16 H24 a9 9 0 0 1 0 18 H14");

let flashing: ReturnType<typeof setTimeout> | null = null;

function flashed(rim: HTMLElement, ms: number): void {
  rim.removeAttribute("hidden");
  if (flashing !== null) clearTimeout(flashing);
  flashing = setTimeout(() => rim.setAttribute("hidden", ""), ms);
}
