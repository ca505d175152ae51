// The buttons below the time line: for the change that is chosen, for adding one, and for saving.
import { button, h, type Child } from "../dom";
import type { Areas } from "../nouns";
import * as say from "../say";
import { reasonAndHint } from "../trouble";
import { t } from "../words";
import type { Change, Shown } from "./changes";
import type { Trial } from "./trial";

export interface ToolActs {
  step(by: -1 | 1): void;
  nudge(ms: number): void;
  drop(): void;
  restore(): void;
  add(lever: "down" | "up"): void;
  save(): void;
  discard(): void;
}

/** What can be done with the change that is chosen; with none, adding one where the line points. */
export function chosenTools(one: Shown | null, cursor: number | null, acts: ToolActs): Child[] {
  const gone = one?.state === "dropped" || one?.state === "hidden";
  const steps: [string, number][] = [[t.time.step(-10), -10_000], [t.time.step(-1), -1_000], [t.time.step(1), 1_000], [t.time.step(10), 10_000]];
  return [
    h("div", { class: "row" }, button(t.time.before, () => acts.step(-1), { id: "change-before" }), button(t.time.after, () => acts.step(1), { id: "change-after" })),
    one && h("p", { class: "chosen-name", "aria-live": "polite" }, h("strong", {}, t.time.chosen(one.lever, say.clock(one.t_ms))), " ", whence(one)),
    one && h("div", { class: "row" }, !gone && steps.map(([text, ms]) => button(text, () => acts.nudge(ms), { id: `nudge${ms}` })), gone ? button(t.time.putBack, acts.restore, { id: "change-restore" }) : button(t.time.takeOut, acts.drop, { id: "change-drop" })),
    !one && (cursor === null ? h("p", {}, t.time.point) : adding(cursor, acts)),
  ];
}

/** Adding a lever change that nobody tapped, at the moment the line points at. */
function adding(cursor: number, acts: ToolActs): Child {
  return h(
    "div",
    { class: "row" },
    button(t.time.add("down", say.clock(cursor)), () => acts.add("down"), { id: "add-down" }),
    button(t.time.add("up", say.clock(cursor)), () => acts.add("up"), { id: "add-up" }),
  );
}

function whence(one: Shown): string {
  if (!one.entry) return t.time.whenceAdded;
  const was = one.state === "moved" ? ` ${t.time.was(say.clock(one.entry.t_ms))}` : "";
  const state = one.state === "dropped" ? ` ${t.time.takenOut}` : one.state === "hidden" ? ` ${t.time.hidden}` : was;
  return `${t.time.how(one.entry.how)}, ${one.entry.dev}.${state}`;
}

/** What the changes would do to the ground, and saving them. */
export function savingTools(changes: readonly Change[], trial: Trial, saving: boolean, acts: ToolActs): Child {
  if (!changes.length) return null;
  return h(
    "section",
    { class: "panel lead trial", "aria-label": t.time.trial },
    h("h3", {}, t.time.changes(changes.length)),
    outcome(trial),
    h(
      "div",
      { class: "row" },
      button(t.time.save, acts.save, { id: "changes-save", disabled: saving }, "first"),
      button(t.time.discard, acts.discard, { id: "changes-discard", disabled: saving }),
    ),
    h("p", {}, t.time.kept),
  );
}

function outcome(trial: Trial): Child {
  if (trial.state === "failed") return h("p", { class: "wrong", role: "alert" }, reasonAndHint(trial.error));
  if (trial.state !== "ready" || !trial.before || !trial.after) {
    return h("div", { role: "status" }, h("p", {}, t.time.trying), h("progress", trial.part === null ? { "aria-label": t.time.trying } : { max: 1, value: trial.part, "aria-label": t.time.trying }));
  }
  const { before, after } = trial;
  const rows: [string, keyof Areas][] = [[t.ground.sown, "sown_ha"], [t.ground.bare, "bare_ha"], [t.ground.doubt, "doubt_ha"], [t.ground.twice, "twice_ha"]];
  return h(
    "table",
    { class: "numbers", id: "before-after" },
    h("thead", {}, h("tr", {}, h("th", { scope: "col" }, t.time.ground), h("th", { scope: "col" }, t.time.now), h("th", { scope: "col" }, t.time.afterwards), h("th", { scope: "col" }, t.time.difference))),
    h("tbody", {}, rows.map(([name, key]) => h("tr", {}, h("th", { scope: "row" }, name), h("td", {}, say.area(before[key])), h("td", {}, say.area(after[key])), h("td", {}, say.change(after[key] - before[key]))))),
  );
}
