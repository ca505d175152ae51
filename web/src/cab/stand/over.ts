// Handing over: a few words for the radio, the log for another phone, and who drives now.
import { button, h } from "../dom";
import { kept } from "../gate/last";
import { canShare, saveLog, shareLog } from "../hand";
import type { Page } from "../route";
import { area, minute } from "../say";
import { keeper } from "../state";
import type { Sums } from "../sums";
import { t } from "../words";
import { Note } from "./log";
import { toStanding } from "./page";

/** At most sixty words, all of them from the last count. */
export function script({ paddock, tally, patches, questions }: Sums, last: string | null): string {
  return t.stand.over.read({
    land: paddock === null ? t.stand.lap.title : paddock.name,
    sown: area(tally.sown_ha),
    net: area(tally.net_ha),
    bare: area(tally.bare_ha),
    doubt: tally.doubt_ha < 0.005 ? null : area(tally.doubt_ha),
    patches: patches.length,
    questions: questions.length,
    last,
  });
}

export function overPage(): Page {
  const note = new Note();
  const { sums } = kept.get();
  const text = h("p", { class: "large", id: "script" }, sums === null ? t.stand.over.unread : script(sums, null));
  const tell = async (counted: Sums): Promise<void> => {
    const levers = (await keeper().marks()).filter(({ kind }) => kind === "lever");
    const last = levers.sort((a, b) => a.t_ms - b.t_ms)[levers.length - 1];
    if (last !== undefined) text.textContent = script(counted, t.stand.over.lever(String(last.says["lever"]), minute(last.t_ms)));
  };
  if (sums !== null) void tell(sums).catch(() => undefined); // without it the words stand all the same
  const field = h("input", { id: "driver", type: "text", autocomplete: "off", maxlength: 40 });
  const change = async (): Promise<void> => {
    const driver = field.value.trim();
    if (driver === "") return note.say(t.stand.over.unnamed);
    if (await note.write({ kind: "shift", t_ms: Date.now(), driver, shift: "start" }, t.stand.over.done(driver))) field.value = "";
  };
  const hand = async (): Promise<void> => {
    if (canShare()) await shareLog();
    else note.say(t.carry.saved(await saveLog()));
  };
  const body = h(
    "div",
    { class: "page" },
    h("h1", {}, t.stand.over.title),
    h("h2", {}, t.stand.over.script),
    text,
    button(t.stand.over.file, () => void hand(), {}, "first"),
    h("label", { for: "driver" }, t.stand.over.driver),
    field,
    button(t.stand.over.act, () => void change()),
    note.body,
    toStanding(),
  );
  return { title: t.stand.over.title, body };
}
