// Ending the day's logging, so that the way home is not in it.
import { button, h } from "../dom";
import { go, type Page, pageOf } from "../route";
import { cab } from "../state";
import { t } from "../words";
import { endDrive } from "./engine";

export function offPage(): Page {
  const stop = (): void => {
    endDrive();
    go("start");
  };
  return pageOf(t.work.stop.title, [
    cab.get().lever === "down" ? h("p", { role: "alert" }, h("strong", {}, t.work.stop.down)) : null,
    h("p", {}, t.work.stop.body),
    h("p", {}, t.work.stop.caution),
    h("div", { class: "stack" }, button(t.work.stop.act, stop, {}, "first"), button(t.work.stop.on, () => go("work"))),
  ]);
}
