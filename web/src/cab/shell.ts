// What stands round every page: one line that says how much of the log is not home yet, and a bar when
// the log cannot be stored.
import { button, h, put } from "./dom";
import { go } from "./route";
import { cab, type Cab } from "./state";
import { saveLog } from "./hand";
import { t } from "./words";

/** Builds the frame; pages go into what it returns. */
export function buildShell(app: Element): Element {
  const strip = h("p", { class: "strip", role: "status", id: "strip" });
  const alarm = h("div", { class: "alarm", role: "alert", hidden: true });
  const also = h("div", { class: "alarm", role: "alert", id: "also", hidden: true });
  const stage = h("main", { id: "stage", tabindex: -1 });
  put(app, strip, alarm, also, stage);
  cab.watch(["count", "home", "part", "trouble", "writes"], (state) => {
    put(strip, line(state));
    strip.className = state.count.last > state.count.held ? "strip away" : "strip";
  });
  cab.watch(["trouble"], ({ trouble }) => {
    alarm.hidden = trouble === null;
    if (trouble === null) put(alarm);
    else put(alarm, h("p", {}, t.trouble[trouble.code]), h("p", { class: "fine" }, trouble.message), button(t.carry.file, () => void saveLog()));
  });
  cab.watch(["also", "part"], (state) => {
    also.hidden = state.also === null || state.part !== "keeper";
    if (state.also !== null) put(also, h("p", {}, t.over.also(state.also)));
  });
  return stage;
}

/** Entries that are not at home, and those that are not even on the disk. */
export function line({ count, part, writes }: Pick<Cab, "count" | "part" | "writes">): string {
  if (part === "rider" || part === "offered") return t.strip.only;
  if (!writes && part === "keeper") return t.other.title;
  const unstored = count.last - count.stored;
  const left = count.last - count.held;
  const stands = left <= 0 ? t.strip.home : t.strip.left(left);
  const says = part === "passed" ? `${t.over.passedOn} · ${stands}` : stands;
  return unstored > UNSTORED ? `${says} · ${t.strip.unstored(unstored)}` : says;
}

/** So many wait for the disk at any moment without anything being wrong. */
const UNSTORED = 20;

/** The way back to the first page. */
export const backButton = (): HTMLElement => button(t.back, () => go("start"));
