// The boundary from a driven lap: worked out from the log each time, so that nothing new has to be kept.
import { button, h, put } from "../dom";
import { choices, choose } from "../choices";
import { wanted } from "../gate/wanted";
import { isFailure, reckoned } from "../reckon";
import { go, type Page, pageOf } from "../route";
import { area, taped } from "../say";
import { stepper } from "../stand/options";
import { toStanding } from "../stand/page";
import { keeper } from "../state";
import { t } from "../words";

export function lapPage(): Page {
  const said = h("div", { role: "status", id: "said" });
  let gone = false;
  const work = async (): Promise<void> => {
    put(said, h("p", {}, t.gate.counting("reading", 0)));
    const found = await reckoned({ paddock: "", lap: true, quick: true, clearance_m: choices.get().clearance_m });
    if (gone) return;
    if (isFailure(found)) put(said, h("p", { class: "said" }, t.gate.trouble[found.code] ?? `${t.gate.failed} ${found.message} ${found.hint}`));
    else {
      const check = (): void => {
        wanted.set({ paddock: "", lap: true });
        go("gate");
      };
      put(said, h("p", { class: "large" }, t.stand.lap.done(area(found.tally.net_ha + found.tally.keep_out_ha))), h("p", {}, t.stand.lap.home), button(t.stand.lap.gate, check));
    }
  };
  return pageOf(
    t.stand.lap.title,
    [
      h("p", {}, t.stand.lap.what),
      stepper(t.stand.lap.clearance, choices.get().clearance_m, { least: 0, most: 20, step: 0.5, say: taped }, (clearance_m) => choose({ clearance_m }, keeper())),
      button(t.stand.lap.act, () => void work(), {}, "first"),
      said,
      toStanding(),
    ],
    () => {
      gone = true;
    },
  );
}
