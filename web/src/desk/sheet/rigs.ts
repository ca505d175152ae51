// Several rigs in one paddock: what each sowed, and how the seams between them lie.
import { wordOf } from "../../core/between";
import { h, type Child } from "../dom";
import type { Tally } from "../nouns";
import * as say from "../say";
import type { Seam } from "../upshot";
import { t } from "../words";

/** Nothing where one rig was at work. */
export function rigsPanel({ rigs = [], between = [] }: Tally): Child {
  if (rigs.length < 2) return null;
  const name = (at: number): string => rigs[at]?.name ?? "";
  const told = (seam: Seam): string => {
    const word = wordOf(seam);
    const spread = say.metres((word === "about" ? 1 : 2) * seam.sigma_m);
    return t.rigs.seam(seam.rigs.map(name).join(" and "), say.distance(seam.length_m), word, say.metres(Math.abs(seam.gap_m)), seam.gap_m < 0, spread);
  };
  return h(
    "section",
    { class: "panel", id: "rigs", "aria-labelledby": "rigs-title" },
    h("h2", { id: "rigs-title" }, t.rigs.title(rigs.length)),
    h("p", {}, t.rigs.by(rigs.map((rig) => `${rig.name} ${say.area(rig.sown_ha)}`))),
    between.map((seam) => h("p", { class: "seam" }, told(seam))),
    between.length === 0 && h("p", {}, t.rigs.apart),
  );
}
