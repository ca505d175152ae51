// Carrying home: how it stands, by hand, and the way by file.
import { takeIn } from "../../carry/file";
import { fetchPack, sendNow, use } from "../carrying";
import { button, h, outcome, put, type Child } from "../dom";
import { canShare, saveLog, shareLog } from "../hand";
import { notice } from "../role";
import { type Page, pageOf } from "../route";
import { backButton } from "../shell";
import { cab, keeper, type Cab } from "../state";
import { t } from "../words";
import { takenIn } from "../over/take";
import { pairForm, pairedLine, reason } from "./pair";

/** Refusals that only a new label mends; what was logged stays. */
export const STUCK = ["intake-clash", "entries-gone", "pairing-label"];

export function carryPage(): Page {
  const stand = h("div", { role: "status", id: "sending" });
  const said = outcome();
  const pack = h("p", {});
  const watched = cab.watch(["sending", "part", "pack", "count"], (state) => {
    put(stand, standing(state));
    put(pack, state.pack === null ? t.ready.noPack : t.carry.packOf(t.moment(state.pack.fetched_ms)));
  });
  const doing = (act: () => Promise<string | null>) => (): void => {
    put(said);
    act().then(
      (text) => put(said, text),
      (error: unknown) => put(said, reason(error)),
    );
  };
  const pairing = h("section", {});
  const pair = (): void => put(pairing, pairForm(() => undefined)); // what it changes is watched below
  // what needs home is offered once there is one
  const send = h("div", {});
  const fetch = h("div", {});
  const own = h("div", { class: "stack" });
  const paired = cab.watch(["home", "part"], ({ home, part }) => {
    const looks = part === "rider";
    put(pairing, h("p", {}, pairedLine()), button(home === null ? t.pair.title : t.pair.again, pair, {}, home === null ? "first" : "plain"));
    put(send, home === null || looks ? null : button(t.carry.now, () => void sendNow(), {}, "first"));
    put(fetch, home === null ? null : button(t.carry.pack, doing(async () => fetchPack(keeper()).then(() => null)), {}, looks ? "first" : "plain"));
    put(own, looks ? null : [button(t.carry.file, doing(async () => t.carry.saved(await saveLog()))), canShare() ? button(t.carry.share, doing(async () => ((await shareLog()) ? null : null))) : null]);
  });
  const file = h("input", { type: "file", class: "spoken", id: "file", "aria-label": t.carry.takeIn });
  file.addEventListener("change", doing(() => taken(file)));
  const close = (): void => {
    watched();
    paired();
  };
  return pageOf(
    t.carry.title,
    [
      stand,
      send,
      said,
      own,
      button([h("span", {}, t.carry.takeIn), h("span", { class: "under" }, t.carry.takeInUnder)], () => file.click()),
      file,
      pack,
      fetch,
      pairing,
      backButton(),
    ],
    close,
  );
}

function standing({ sending, part, count }: Cab): readonly Child[] {
  const left = h("p", {}, t.carry.left(Math.max(0, count.stored - count.held)));
  if (part === "rider") return [h("p", {}, t.carry.rider)];
  switch (sending.state) {
    case "unpaired":
      return [h("p", {}, t.carry.unpaired), left];
    case "home":
      return [h("p", {}, t.carry.home(t.moment(sending.at_ms)))];
    case "sending":
      return [h("p", {}, t.carry.left(sending.left))];
    case "waiting":
      return [left, h("p", {}, t.carry.waiting(sending.why.message))];
    case "stopped":
      return [left, h("p", { class: "said" }, `${t.carry.stopped} ${sending.why.message} ${STUCK.indexOf(sending.why.code) < 0 ? sending.why.hint : t.carry.stuck}`)];
    default:
      return [];
  }
}

async function taken(input: HTMLInputElement): Promise<string | null> {
  const given = input.files?.[0];
  input.value = "";
  if (given === undefined) return null;
  const found = await takeIn(given, keeper(), Date.now());
  if (found.what === "handover") {
    await takenIn(found);
    return null;
  }
  if (found.what === "pack") {
    use(found.pack);
    return t.carry.gotPack(found.pack.paddocks.length, found.pack.rigs.length);
  }
  await notice(keeper());
  const out = Object.keys(found.skipped).map((why) => `${(found.skipped[why] ?? 0).toLocaleString("en")} × ${why}`);
  return [t.carry.gotLog(found.kept, found.again), out.length === 0 ? "" : t.carry.skipped(out.join(", "))].join(" ");
}
