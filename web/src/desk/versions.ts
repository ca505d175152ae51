// The versions of a paddock or a rig card: nothing is ever edited, it is superseded.
import { h, type Child } from "./dom";
import type { Version } from "./nouns";
import * as say from "./say";
import { t } from "./words";

export function versionList(history: readonly Version[] | undefined): Child {
  if (!history?.length) return null;
  return h(
    "details",
    {},
    h("summary", {}, t.versions.title(history.length)),
    h("p", {}, t.versions.what),
    h("ol", { class: "lines versions", reversed: true }, history.toSorted((a, b) => b.version - a.version).map((v) => h("li", {}, h("strong", {}, t.versions.one(v.version)), ` ${say.moment(v.t_ms)}`, v.why && ` · ${v.why}`))),
  );
}
