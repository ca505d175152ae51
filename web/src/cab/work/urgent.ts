// Of all that could be said, the one line that matters most now.
import type { Aim } from "../gate/aim";
import type { Cab } from "../state";
import type { Bin } from "../sums";
import { sureHa } from "../../core/balance";
import { about, minute } from "../say";
import { t } from "../words";
import type { Count } from "./cuer";
import type { Driving } from "./driving";

const LOW = 0.2;
/** A corner is said for so long, ms. */
const SAID_MS = 30_000;

export interface Seen {
  readonly cab: Pick<Cab, "writes" | "trouble" | "battery" | "awake">;
  readonly driving: Driving;
  readonly count: Count | null;
  readonly aim: Aim | null;
  /** What runs out soon; null: nothing. */
  readonly scarce: Bin | null;
}

/** Empty where nothing is to be said. */
export function urgent(seen: Seen): string {
  const { cab, driving } = seen;
  const words = t.work.urgent;
  if (!cab.writes) return words.other;
  if (cab.trouble !== null) return words.failed;
  if (driving.trouble !== null) return words[driving.trouble];
  if (driving.silent) return words.silent;
  const { now } = driving;
  if (driving.making && now === null) return words.making;
  if (now === null || !now.known) return words.waiting;
  if (!now.flowing) return words.notFlowing;
  if (driving.left_ms !== null) return words.left(minute(driving.left_ms));
  if (driving.doubt !== null) return words[driving.doubt];
  if (driving.seldom) return words.seldom;
  return calmer(seen);
}

/** What can wait for a look. */
function calmer({ cab, driving, count, aim, scarce }: Seen): string {
  const words = t.work.urgent;
  const { now } = driving;
  if (now?.rig === null) return words.noRig;
  if (cab.battery !== null && !cab.battery.charging && cab.battery.part <= LOW) return words.battery(Math.round(cab.battery.part * 100));
  const short = scarcely(scarce);
  if (short !== "") return short;
  // whoever moves has one short line; how to drive up to it is read before
  if (aim !== null) return now?.standing === true ? words.aim(aim.number, aim.words) : aim.enter || words.aim(aim.number, "");
  // said when it happens, and again when he stands and can look at the tines
  const lately = now !== null && (now.standing || now.t_ms - driving.strained_ms < SAID_MS);
  if (driving.strains > 0 && lately) return words.strain(driving.strains);
  if (cab.awake === "lost" || cab.awake === "none") return words.sleepy;
  return counted(count, now?.down === true);
}

/** How long the bin lasts that runs out first. */
function scarcely(bin: Bin | null): string {
  if (bin === null || bin.left === null) return "";
  const { product, left, rounds } = bin;
  if (left.kg <= left.kg_sigma) return t.stock.urgent.out(product);
  return rounds === null ? t.stock.urgent.area(about(sureHa(left)), product) : t.stock.urgent.rounds(rounds, product);
}

function counted(count: Count | null, down: boolean): string {
  const words = t.work.urgent;
  if (count === null) return "";
  if (down) return count.lift_s === null ? "" : words.lift(Math.round(count.lift_s));
  return count.lower_s === null ? "" : words.lower(Math.round(-count.lower_s));
}
