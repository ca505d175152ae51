// Which rig is driven today and where the phone sits on it: one button a rig card, with the phone drawn on
// the tractor from above. What is pressed is an entry, from which moment on that card holds.
import type { PackRig } from "../../carry/pack";
import { earlier } from "../../core/told";
import type { Mark, Rig } from "../../core/words";
import { button, h, put, s, type Child } from "../dom";
import { taped } from "../say";
import { cab, keeper } from "../state";
import { Note } from "../stand/log";
import { t } from "../words";

/** Metres of tractor that the drawing shows, ahead of and behind its rear axle, and to each side. */
const AHEAD_M = 4;
const BEHIND_M = 1.2;
const SIDE_M = 1.6;
const PX = 16;

/** The cards to choose from, newest first. */
export function mounts(): HTMLElement {
  const cards = (cab.get().pack?.rigs ?? []).slice().sort((a, b) => b.made_ms - a.made_ms);
  if (cards.length === 0) return h("p", {}, t.more.settings.noCard);
  const note = new Note();
  const list = h("div", { class: "answers mounts" });
  const choose = async (card: PackRig): Promise<void> => {
    if (await note.write({ kind: "rig", t_ms: Date.now(), card: card.name, version: card.version }, t.more.settings.mountSaved(card.name))) await show();
  };
  const show = async (): Promise<void> => {
    const now = inUse(await keeper().marks(), cards);
    put(list, ...cards.map((card) => row(card, card === now, () => void choose(card))));
  };
  put(list, ...cards.map((card, at) => row(card, at === 0, () => void choose(card))));
  void show().catch(() => undefined); // the frame says when the log cannot be read
  return h("div", {}, h("p", {}, t.more.settings.mountWhy), list, note.body);
}

/** The card that holds now: the one named last, else the newest. */
export function inUse(marks: readonly Mark[], cards: readonly PackRig[]): PackRig | null {
  const named = marks.filter(({ kind }) => kind === "rig").sort(earlier);
  const found = named.map(({ says }) => cards.find(({ id, name }) => id === says["card"] || name === says["card"])).filter((card): card is PackRig => card !== undefined);
  const newest = cards.slice().sort((a, b) => b.made_ms - a.made_ms)[0];
  return found[found.length - 1] ?? newest ?? null;
}

function row(card: PackRig, used: boolean, act: () => void): HTMLElement {
  const rig = card.chain[card.chain.length - 1];
  const place = rig === undefined ? null : h("span", { class: "under" }, sits(rig));
  const text: Child = h("span", { class: "text" }, card.name, place);
  return button(rig === undefined ? text : [drawing(rig), text], act, { "data-card": card.id, "aria-pressed": used ? "true" : "false" });
}

/** Where the phone sits, in words. */
function sits({ phone }: Rig): string {
  const { ahead_of_axle_m: a, left_of_centre_m: b } = phone;
  const [ahead, left] = [taped(Math.abs(a)), taped(Math.abs(b))];
  return t.more.settings.mount(a < 0 ? t.more.settings.behind(ahead) : t.more.settings.ahead(ahead), b === 0 ? "" : b < 0 ? t.more.settings.right(left) : t.more.settings.left(left));
}

/** The tractor from above, its front up: wheels, frame, and the phone where the card has it. */
function drawing({ phone }: Rig): SVGSVGElement {
  const x = SIDE_M - Math.min(Math.max(phone.left_of_centre_m, -SIDE_M + 0.3), SIDE_M - 0.3);
  const y = AHEAD_M - Math.min(Math.max(phone.ahead_of_axle_m, -BEHIND_M + 0.3), AHEAD_M - 0.3);
  const at = (...metres: readonly number[]): string => metres.map((m) => String(Math.round(m * PX))).join(" ");
  const wheel = (side: number, ahead: number, long: number): string => `M${at(SIDE_M + side, AHEAD_M - ahead - long / 2)} V${at(AHEAD_M - ahead + long / 2)}`;
  return s(
    "svg",
    { viewBox: `0 0 ${at(2 * SIDE_M)} ${at(AHEAD_M + BEHIND_M)}`, class: "picture", "aria-hidden": "true" },
    s("path", { class: "p-line", d: `M${at(SIDE_M - 0.9, AHEAD_M)} H${at(SIDE_M + 0.9)} M${at(SIDE_M, AHEAD_M + 0.9)} V${at(1)} M${at(SIDE_M - 0.7, 1.4)} H${at(SIDE_M + 0.7)}` }),
    s("path", { class: "p-line", d: [wheel(-1.1, 0, 1.6), wheel(1.1, 0, 1.6), wheel(-0.9, AHEAD_M - 1.4, 0.9), wheel(0.9, AHEAD_M - 1.4, 0.9)].join(" ") }),
    s("circle", { class: "p-full", cx: Math.round(x * PX), cy: Math.round(y * PX), r: 9 }),
  );
}
