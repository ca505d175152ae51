// Every stretch with the tool in the ground, as a table that lights up the map.
import { button, h, type Child } from "../dom";
import type { Run } from "../nouns";
import * as say from "../say";
import { t } from "../words";

export function runList(runs: readonly Run[], lit: number | null, pick: (run: Run) => void): Child {
  if (!runs.length) return null;
  return h(
    "details",
    { id: "runs" },
    h("summary", {}, t.runs.title(runs.length)),
    h(
      "div",
      { class: "wide", tabindex: "0", role: "region", "aria-label": t.runs.title(runs.length) },
      h(
        "table",
        { class: "numbers" },
        h("thead", {}, h("tr", {}, [t.runs.number, t.runs.down, t.runs.up, t.runs.long, t.runs.how, t.runs.phone].map((text) => h("th", { scope: "col" }, text)))),
        h(
          "tbody",
          {},
          runs.map((run) =>
            h(
              "tr",
              { class: run.number === lit ? "lit" : null },
              h("th", { scope: "row" }, button(run.number, () => pick(run), { id: `run-${run.number}`, "aria-pressed": String(run.number === lit), "aria-label": t.runs.show(run.number) }, "quiet")),
              h("td", {}, `${say.dayShort(new Date(run.down_ms).toISOString().slice(0, 10))} ${say.clock(run.down_ms)}`),
              h("td", {}, say.clock(run.up_ms)),
              h("td", {}, run.length_m === null ? "–" : say.distance(run.length_m)),
              h("td", {}, run.sure ? t.runs.hows(run.how) : t.runs.doubt),
              h("td", {}, run.phone ?? "–"),
            ),
          ),
        ),
      ),
    ),
  );
}
