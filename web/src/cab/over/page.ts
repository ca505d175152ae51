// Handing over: what is to be said, the driver who changes while the phone stays, and the file for a phone that
// goes on instead of this one.
import { handingFile } from "../../carry/handing";
import type { Lever } from "../../keep/entry";
import { button, h, lineBox, outcome, put, type Child } from "../dom";
import { kept } from "../gate/last";
import { canShare, save, share } from "../hand";
import { leftBy } from "../relive";
import { changeRole, kept as keptBy, role } from "../role";
import { go, type Page, pageOf } from "../route";
import { countHere } from "../stand/count";
import { Note } from "../stand/log";
import { toStanding } from "../stand/page";
import { keeper } from "../state";
import type { Sums } from "../sums";
import { endDrive } from "../work/engine";
import { t } from "../words";
import { taps } from "./pin";
import { linesOf, spokenOf } from "./told";

export function overPage(): Page {
  const numbers = h("div", {});
  const lines = h("div", {});
  const counted = (sums: Sums, again: HTMLElement): Child[] => [
    h("h2", {}, t.over.lines),
    h("dl", { id: "lines", class: "lines" }, linesOf(sums).map(([name, text]) => [h("dt", {}, name), h("dd", {}, text)]).reduce<Child[]>((all, pair) => all.concat(pair), [])),
    again,
  ];
  const close = countHere(numbers, (sums, again) => {
    put(numbers, h("p", { class: "large", id: "script" }, spokenOf(sums)));
    put(lines, ...counted(sums, again));
  });
  return pageOf(t.over.title, [h("h2", {}, t.over.script), numbers, ...driver(), ...phone(), lines, toStanding()], close);
}

/** The phone stays: one entry. */
function driver(): Child[] {
  const note = new Note();
  const field = lineBox("driver", 40);
  const change = async (): Promise<void> => {
    const name = field.value.trim();
    if (name === "") return note.say(t.over.unnamed);
    if (await note.write({ kind: "shift", t_ms: Date.now(), driver: name, shift: "start" }, t.over.done(name))) field.value = "";
  };
  return [h("h2", {}, t.over.stays), h("p", {}, t.over.staysWhat), h("label", { for: "driver" }, t.over.driver), field, button(t.over.act, () => void change()), note.body];
}

/** Another phone goes on: one file, and from then on this phone only looks. */
function phone(): Child[] {
  const box = h("div", { class: "stack" });
  const said = outcome("handed");
  const hand = async (): Promise<void> => {
    put(said);
    const { file, handed } = await made();
    if (canShare()) {
      if (!(await share(file))) return put(said, t.over.failed);
    } else {
      save(file);
      put(said, t.over.saved(file.name));
    }
    put(box, h("p", { class: "large" }, t.over.sure), button(t.over.yes, () => void passOn(handed.seq, handed.at_ms), { id: "passed" }, "first"), button(t.over.no, ask));
  };
  const ask = (): void => {
    const { pin } = role.get();
    const set = (next: string) => (): void => void changeRole({ pin: next }, keeper()).then(ask, () => put(said, t.stand.lost));
    const choose = (): void => put(box, h("p", {}, t.over.pin.what), taps((next) => set(next)()), button(t.back, ask));
    put(
      box,
      h("p", {}, t.over.movesWhat),
      button(canShare() ? t.over.share : t.over.file, () => void hand().catch(() => put(said, t.over.failed)), { id: "hand" }),
      h("p", {}, pin === "" ? t.over.pin.none : t.over.pin.is),
      pin === "" ? button(t.over.pin.set, choose, { id: "pin" }) : button(t.over.pin.clear, set("")),
    );
  };
  ask();
  return [h("h2", {}, t.over.moves), box, said];
}

async function made(): ReturnType<typeof handingFile> {
  const log = keeper();
  const { sums } = kept.get();
  const marks = await log.marks();
  const shifts = marks.filter(({ kind, says }) => kind === "shift" && says["shift"] === "start").sort((a, b) => a.t_ms - b.t_ms);
  const devs = keptBy(log.dev);
  // as the log has it: a page that was just opened has not seen the lever move
  const lever: Lever = leftBy(marks, devs).down ? "down" : "up";
  const about = {
    at_ms: Date.now(),
    lever,
    driver: String(shifts[shifts.length - 1]?.says["driver"] ?? ""),
    script: sums === null ? "" : spokenOf(sums),
    pin: role.get().pin,
    before: devs.filter((dev) => dev !== log.dev),
  };
  return handingFile(log, about, await log.recall("pack"));
}

async function passOn(seq: number, at_ms: number): Promise<void> {
  endDrive();
  await keeper().flush();
  await changeRole({ passed: { at_ms, seq }, offered: null }, keeper());
  go("start");
}
