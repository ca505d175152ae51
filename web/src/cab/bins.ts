// The bins while driving: by the fills of the last days, and the ground seeded since as the working page saw it.
import { sureHa } from "../core/balance";
import { capacityHaPerH } from "../core/price";
import { paceHaH } from "../core/capacity";
import { seededAt } from "../core/ledger";
import type { Mark } from "../core/words";
import { ratesSet } from "./prices";
import { BACK_MS } from "./relive";
import { keeper } from "./state";
import { binsOf } from "./stock";
import { createStore } from "./store";
import type { Bin } from "./sums";
import { driving } from "./work/driving";

/** Reckoned anew so often while driving, ms of the track. */
const EVERY_MS = 20_000;
/** The pace is that of so many hours. */
const RECENT_H = 2;
/** Said while driving when it lasts for no more than so many rounds, or so much ground. */
const ROUNDS = 3;
const LAST_HA = 1.5;

/** The bins, and how many fills were logged of late. */
export const bins = createStore<{ readonly bins: readonly Bin[]; readonly fills: number }>({ bins: [], fills: 0 });

let fills: readonly Mark[] = [];
let reckoned_ms = -Infinity;

/** Follows fills and the drive until the page ends. */
export function followBins(): void {
  void readFills();
  keeper().onWrite(({ entries }) => {
    if (entries.some(({ kind }) => kind === "fill" || kind === "undo")) void readFills();
  });
  driving.watch(["now", "live"], ({ now }) => {
    if (now === null || Math.abs(now.t_ms - reckoned_ms) < EVERY_MS) return;
    reckoned_ms = now.t_ms;
    setTimeout(reckon, 0); // not while a position is taken in
  });
}

async function readFills(): Promise<void> {
  const marks = await keeper().marks(Date.now() - BACK_MS).catch(() => []);
  fills = marks.filter(({ kind }) => kind === "fill");
  bins.set({ fills: fills.length });
  reckon();
}

function reckon(): void {
  const { live, now } = driving.get();
  reckoned_ms = now?.t_ms ?? -Infinity;
  if (live === null || now === null || now.rig === null) return;
  const { metered } = live;
  const t0_ms = live.ms(0);
  bins.set({ bins: binsOf({ marks: fills, seeded: metered.seeded(), round_m: metered.round_m(), width_m: now.rig.tool.width_m, rates: ratesSet(), t0_ms, until_ms: now.t_ms }) });
}

/** Hectares an hour to reckon with, all stops counted; null where nothing tells a speed. */
export function pace(): number | null {
  const { live, now } = driving.get();
  if (live === null || now === null || now.rig === null) return null;
  const speed = Number.isFinite(now.usual_m_s) ? now.usual_m_s : null;
  if (speed === null) return null;
  const seeded = live.metered.seeded();
  const end_s = (now.t_ms - live.ms(0)) / 1000;
  const begun_s = Math.max(end_s - RECENT_H * 3600, seeded.t_s[0] ?? end_s);
  const recent_h = (end_s - begun_s) / 3600;
  return paceHaH(seededAt(seeded, end_s) - seededAt(seeded, begun_s), recent_h, capacityHaPerH(speed, now.rig.tool.width_m));
}

/** What runs out first, where that is soon; null: nothing is to be said. */
export function scarce(some: readonly Bin[]): Bin | null {
  const soon = some.filter(({ left, rounds }) => left !== null && (left.kg <= left.kg_sigma || (rounds === null ? sureHa(left) <= LAST_HA : rounds <= ROUNDS)));
  return soon.reduce<Bin | null>((least, bin) => (least === null || sureHa(bin.left ?? NOTHING) < sureHa(least.left ?? NOTHING) ? bin : least), null);
}

const NOTHING = { kg: 0, kg_sigma: 0, ha: 0, ha_sigma: 0 };
