// Why it stands: one press, one entry.
import { button, h } from "../dom";
import { type Page, pageOf } from "../route";
import { t } from "../words";
import { Note } from "./log";
import { toStanding } from "./page";

type Reason = keyof typeof t.stand.stop.reasons;

export function stopPage(): Page {
  const note = new Note();
  const { reasons } = t.stand.stop;
  return pageOf(t.stand.stop.title, [
    note.body,
    h("div", { class: "pairs" }, (Object.keys(reasons) as Reason[]).map((reason) => button(reasons[reason], () => void note.write({ kind: "stop", t_ms: Date.now(), reason }, reasons[reason]), { "data-reason": reason }))),
    h("p", {}, t.stand.seat),
    h("p", {}, t.stand.shaft),
    toStanding(),
  ]);
}
