// One file that hands the log on to another phone: first a line that says where it stood and brings the farm
// pack, then the whole log. The second phone needs no home and no network to go on from it.
import { UnsownError } from "../core/errors";
import type { Keeper } from "../keep/keep";
import type { Lever } from "../keep/entry";

/** Where the log stood when it was handed on. */
export interface Handed {
  /** The phone that kept it, and its last entry. */
  readonly dev: string;
  readonly seq: number;
  readonly at_ms: number;
  readonly lever: Lever;
  /** Who drove, and what was to be said on the radio; may be empty. */
  readonly driver: string;
  readonly script: string;
  /** Four taps that the next keeper must know, as digits from 1; empty: none. */
  readonly pin: string;
  /** Phones that kept the same log before, the earlier first. */
  readonly before: readonly string[];
}

/** The farm pack as it came from home, and when. */
interface Packed {
  readonly fetched_ms: number;
  readonly json: unknown;
}

const HEAD = '{"handover":';

/** The name ends as what phones let each other have: a text. */
export function handedName(dev: string, now_ms: number): string {
  const stamp = new Date(now_ms).toISOString().slice(0, 16).replace(/[:T]/g, "-");
  return `unsown-handover-${dev}-${stamp}.txt`;
}

/** The file; everything that waits is stored first, so that `seq` is the last of its entries. */
export async function handingFile(log: Keeper, told: Omit<Handed, "dev" | "seq">, pack: Packed | undefined): Promise<{ file: File; handed: Handed }> {
  await log.flush();
  const handed: Handed = { ...told, dev: log.dev, seq: log.count().last };
  const head = `${JSON.stringify({ handover: handed, pack: pack ?? null })}\n`;
  return { file: new File([head, await log.export()], handedName(log.dev, told.at_ms), { type: "text/plain" }), handed };
}

/** The first line of such a file, and what follows it; null where it is none. */
export function readHanding(text: string, where: string): { handed: Handed; pack: Packed | null; rest: string } | null {
  if (text.slice(0, HEAD.length) !== HEAD) return null;
  const end = text.indexOf("\n");
  let head: unknown = null;
  try {
    head = JSON.parse(end < 0 ? text : text.slice(0, end));
  } catch {
    // said below
  }
  const { handover, pack } = (head ?? {}) as { handover?: Partial<Handed>; pack?: Packed | null };
  if (end < 0 || handover === undefined || typeof handover.dev !== "string" || typeof handover.seq !== "number" || typeof handover.at_ms !== "number") {
    throw new UnsownError("handover-cut", "expected a whole handover, but the file was cut off or changed", { where, hint: "Hand it on again from the other phone." });
  }
  const said = (value: unknown): string => (typeof value === "string" ? value : "");
  const handed: Handed = {
    dev: handover.dev,
    seq: handover.seq,
    at_ms: handover.at_ms,
    lever: handover.lever === "down" ? "down" : "up",
    driver: said(handover.driver),
    script: said(handover.script),
    pin: said(handover.pin),
    before: Array.isArray(handover.before) ? handover.before.map(said) : [],
  };
  return { handed, pack: pack ?? null, rest: text.slice(end + 1) };
}
