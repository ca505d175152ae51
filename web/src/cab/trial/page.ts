// The stopwatch for timing trials: one large button, pressed at each thing that happens.
import type { Draft } from "../../keep/entry";
import { button, h, put, type Child } from "../dom";
import { type Page, pageOf } from "../route";
import { backButton } from "../shell";
import { inUse } from "../set/mount";
import { cab, keeper } from "../state";
import { Note } from "../stand/log";
import { options } from "../stand/options";
import { t } from "../words";
import { onTouch } from "../work/pad";
import { measured, type Presses, type Trial } from "./times";

/** Two presses nearer together are one, ms; a button that takes the pad's place waits for so long, ms. */
const SHAKE_MS = 200;
const REST_MS = 700;

export function trialPage(): Page {
  let trial: Trial = "points";
  let presses: number[] = [];
  const trials: { trial: Trial; presses: Presses }[] = [];
  const note = new Note();
  const watch = h("div", {});
  const table = h("div", {});
  const steps = (): readonly string[] => t.stand.trial.trials[trial].presses;
  const show = (): void => {
    const next = steps()[presses.length];
    if (next !== undefined) pad.textContent = next;
    put(
      watch,
      h("ol", { class: "presses" }, steps().map((step, i) => h("li", { class: i < presses.length ? "done" : "" }, step, i === 0 || i >= presses.length ? null : ` ${seconds(presses, i)} s`))),
      next === undefined ? button(t.stand.trial.again, again) : pad,
    );
    put(table, ...results());
  };
  // counted at the touch itself: a click comes a tenth of a second later on some phones. One button all the
  // way through, and a moment's rest after it: else the click of the same touch would press what comes next
  const pad = h("button", { type: "button", class: "button first stopwatch", id: "press" });
  let last = Number.NEGATIVE_INFINITY;
  onTouch(pad, () => {
    const now = performance.now();
    if (now - last < SHAKE_MS) return;
    last = now;
    presses.push(now);
    if (presses.length === steps().length) trials.push({ trial, presses });
    show();
  });
  const again = (): void => {
    if (performance.now() - last > REST_MS) begin();
  };
  const begin = (): void => {
    last = Number.NEGATIVE_INFINITY;
    presses = [];
    show();
  };
  const results = (): Child[] => {
    const found = measured(trials);
    if (found.size === 0) return [h("p", {}, t.stand.trial.three)];
    const rows: Child[] = [];
    found.forEach(({ mean_s, spread_s, n }, name) => rows.push(h("p", {}, h("strong", {}, t.stand.trial.times[name] ?? name), `: ${t.stand.trial.mean(mean_s.toFixed(1), spread_s === null ? null : spread_s.toFixed(1), n)}`)));
    const forget = (): void => {
      trials.pop();
      begin();
    };
    return [...rows, button(t.stand.trial.use, () => void save()), button(t.stand.trial.clear, forget)];
  };
  const save = async (): Promise<void> => {
    const card = inUse(await keeper().marks(), cab.get().pack?.rigs ?? []);
    await note.write(entryOf(card, measured(trials), Date.now()), t.stand.trial.done(card === null ? "–" : card.name));
  };
  show();
  const titles = { points: t.stand.trial.trials.points.title, seed: t.stand.trial.trials.seed.title, lift: t.stand.trial.trials.lift.title };
  return pageOf(t.stand.trial.title, [
    h("p", {}, t.stand.trial.people),
    cab.get().pack?.rigs.length ? null : h("p", {}, t.stand.trial.noCard),
    options(t.stand.trial.title, titles, trial, (chosen) => {
      trial = chosen;
      begin();
    }),
    watch,
    table,
    note.body,
    backButton(),
  ]);
}

const seconds = (presses: Presses, i: number): string => (((presses[i] ?? 0) - (presses[0] ?? 0)) / 1000).toFixed(1);

/** The entry that says what was measured, for the rig card; it names no card, so it changes no count. */
export function entryOf(card: { readonly name: string; readonly version: number } | null, found: ReturnType<typeof measured>, now_ms: number): Draft {
  const times: Record<string, number> = {};
  found.forEach(({ mean_s, spread_s }, name) => {
    times[name] = Number(mean_s.toFixed(2));
    if (name === "fill_s" && spread_s !== null) times["fill_spread_s"] = Number(spread_s.toFixed(2));
  });
  const words = Object.keys(times).map((name) => `${name} ${times[name] ?? ""}`);
  return { kind: "say", t_ms: now_ms, about: "times", prompt: card === null ? "timing trial" : `timing trial of ${card.name}, version ${card.version}`, answer: words.join(", "), ...times };
}
