// Going on from another phone's log: the file is taken in, then somebody says that it goes on here.
import type { Brought } from "../../carry/file";
import { takeIn } from "../../carry/file";
import { use } from "../carrying";
import { button, h, lineBox, outcome, put, type Child } from "../dom";
import { go, type Page, pageOf } from "../route";
import { minute } from "../say";
import { changeRole, notice, role } from "../role";
import { backButton } from "../shell";
import { keeper } from "../state";
import { reason } from "../set/pair";
import { t } from "../words";
import { taps } from "./pin";

type Handover = Extract<Brought, { what: "handover" }>;

let lately: { readonly kept: number; readonly again: number } | null = null;

/** A handover that was taken in: this phone only looks until its driver goes on from it. */
export async function takenIn({ handed, pack, kept, again }: Handover): Promise<void> {
  if (pack !== null) use(pack);
  lately = { kept, again };
  await notice(keeper());
  if (handed.dev !== keeper().dev) await changeRole({ offered: handed }, keeper());
  go("take");
}

export function takePage(): Page {
  const said = outcome();
  const file = h("input", { type: "file", class: "spoken", id: "handover", "aria-label": t.over.take.choose });
  const taken = async (): Promise<void> => {
    const given = file.files?.[0];
    file.value = "";
    if (given === undefined) return;
    const found = await takeIn(given, keeper(), Date.now());
    if (found.what === "handover" && found.handed.dev !== keeper().dev) await takenIn(found);
    else put(said, found.what === "handover" ? t.over.take.mine : t.over.take.failed);
  };
  file.addEventListener("change", () => void taken().catch((error: unknown) => put(said, reason(error))));
  const box = h("div", { class: "stack" });
  const ends = role.watch(["offered", "passed"], () => put(box, ...choices()));
  return pageOf(t.over.take.title, [box, said, button(t.over.take.choose, () => file.click(), {}, role.get().offered === null ? "first" : "plain"), file, backButton()], ends);
}

function choices(): Child[] {
  const { offered, passed } = role.get();
  if (offered === null && passed === null) return [h("p", {}, t.over.take.what)];
  if (offered === null) {
    const back = (): void => void changeRole({ passed: null }, keeper()).then(() => go("start"), () => undefined);
    return [h("p", { class: "large" }, t.over.passed.body(minute(passed?.at_ms ?? 0))), h("p", {}, t.over.passed.backWhat), button(t.over.passed.back, back), h("p", {}, t.over.take.what)];
  }
  const driver = lineBox("driver", 40);
  const wrong = h("p", { role: "alert", class: "said", id: "wrong" });
  const start = (): void => void goOn(driver.value.trim()).catch((error: unknown) => put(wrong, reason(error)));
  const lock = h("div", {});
  const ask = (): void => {
    if (offered.pin === "") start();
    else put(lock, taps((pin) => (pin === offered.pin ? start() : put(wrong, t.over.pin.wrong))));
  };
  const leave = (): void => void changeRole({ offered: null }, keeper()).catch((error: unknown) => put(wrong, reason(error)));
  return [
    h("p", { class: "large" }, t.over.take.from(offered.driver || offered.dev, t.moment(offered.at_ms))),
    lately === null ? null : h("p", { id: "got" }, t.over.take.got(lately.kept, lately.again)),
    offered.script === "" ? null : h("p", { id: "script" }, offered.script),
    h("p", {}, t.over.take.lever[offered.lever]),
    h("label", { for: "driver" }, t.over.take.driver),
    driver,
    button(t.over.take.act, ask, { id: "go-on" }, "first"),
    lock,
    wrong,
    h("p", {}, t.over.take.hides),
    button(t.over.take.leave, leave, { id: "leave" }),
  ];
}

/** This phone is the keeper from now on; the log says so. */
async function goOn(driver: string): Promise<void> {
  const { offered } = role.get();
  if (offered === null) return;
  const log = keeper();
  await changeRole({ taken: offered, offered: null, passed: null, pin: offered.pin }, log);
  const who = driver === "" ? {} : { driver };
  // how the lever was left stands in this phone's own log too, for whoever reads it without the other's
  await log.append({ kind: "lever", t_ms: Date.now(), lever: offered.lever, how: "afterwards" });
  await log.append({ kind: "shift", t_ms: Date.now(), shift: "start", ...who, from_dev: offered.dev, from_seq: offered.seq });
  go("start");
}
