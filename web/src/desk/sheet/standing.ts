// How far a paddock's work is: computing, failed, nothing logged, older than the log, or guessed.
import { h, type Child } from "../dom";
import { to } from "../route";
import { t } from "../words";
import type { Sheet } from "./state";

export function standing({ work, part }: Pick<Sheet, "work" | "part">): Child {
  if (!work) return h("p", { class: "waiting" }, t.waiting);
  if (part !== null || work.state === "computing" || work.stale) {
    return h("div", { class: "panel computing", role: "status" }, h("p", {}, work.tally ? t.sheet.newer : t.sheet.computing), h("progress", { max: 1, value: part ?? 0, "aria-label": t.state.computing }));
  }
  if (work.state === "failed") {
    return h("div", { class: "panel trouble", role: "alert" }, h("h2", {}, t.sheet.failed), h("p", {}, [work.reason?.message, work.reason?.hint].filter(Boolean).join(" ") || t.trouble.unknown), h("p", {}, t.sheet.failedWhat), h("p", {}, h("a", { href: to.carry }, t.sheet.carryOut)));
  }
  if (work.state === "none") {
    return h("section", { class: "panel lead", "aria-label": t.lead }, h("p", {}, work.reason?.message ?? t.sheet.none), h("p", { class: "row" }, h("a", { class: "button first", href: to.carry }, t.carry.in), h("a", { class: "button plain", href: to.phones }, t.phones.pair)));
  }
  if (work.runs?.length && work.runs.every((run) => run.how === "guessed")) {
    return h("p", { class: "panel" }, t.sheet.guessed);
  }
  return null;
}
