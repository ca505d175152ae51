// The way without any network: the log out as a file, packs and other phones' logs in as files.
import { readLines } from "../formats/log";
import type { Keeper } from "../keep/keep";
import { UnsownError } from "../core/errors";
import { readHanding, type Handed } from "./handing";
import { looksLikePack, readPack, type Carried, type Pack } from "./pack";

/** What a file turned out to be. */
export type Brought =
  | { readonly what: "handover"; readonly handed: Handed; readonly pack: Pack | null; readonly kept: number; readonly again: number }
  | { readonly what: "pack"; readonly pack: Pack; readonly carried: Carried }
  | { readonly what: "log"; readonly kept: number; readonly again: number; readonly skipped: Readonly<Record<string, number>> };

const MOST_BYTES = 200_000_000;

/** The name a log file goes by: whose, and when it was written. */
export function nameOf(dev: string, now_ms: number): string {
  const stamp = new Date(now_ms).toISOString().slice(0, 16).replace(/[:T]/g, "-");
  return `unsown-${dev}-${stamp}.jsonl`;
}

/** The whole log as a file. */
export async function logFile(log: Keeper, now_ms: number): Promise<File> {
  // as plain text: what shares and downloads files takes no kind that it does not know
  return new File([await log.export()], nameOf(log.dev, now_ms), { type: "text/plain" });
}

/**
 * Takes in a file: a farm pack, or the log of another phone. Throws UnsownError: `file-large`,
 * `file-unknown`, `pack-bad`; KeepError where it cannot be stored.
 */
export async function takeIn(file: Blob & { name?: string }, log: Keeper, now_ms: number): Promise<Brought> {
  const where = file.name ?? "the file";
  if (file.size > MOST_BYTES) {
    throw new UnsownError("file-large", `expected at most ${MOST_BYTES / 1e6} MB, but it has ${Math.ceil(file.size / 1e6)} MB`, { where });
  }
  const text = await textOf(file);
  const handover = readHanding(text, where);
  if (handover !== null) return handedIn(handover, log);
  const json = jsonOf(text);
  if (looksLikePack(json)) {
    const carried: Carried = { fetched_ms: now_ms, json };
    const pack = readPack(carried);
    await log.remember("pack", carried);
    return { what: "pack", pack, carried };
  }
  const { lines, skipped } = readLines(text);
  if (lines.length === 0) {
    throw new UnsownError("file-unknown", "expected a farm pack or the log of another phone, but it is neither", {
      where,
      hint: "If it was cut off, save it again. Tracks and boundaries are carried in at the desk.",
    });
  }
  return { what: "log", ...(await log.bring(lines)), skipped };
}

/** A handover: its pack, unless ours is newer, and the log that it goes on from. */
async function handedIn({ handed, pack: packed, rest }: NonNullable<ReturnType<typeof readHanding>>, log: Keeper): Promise<Brought> {
  const pack = packed === null ? null : readPack(packed);
  const ours = await log.recall<Carried>("pack").catch(() => undefined);
  const newer = packed !== null && (ours === undefined || ours.fetched_ms < packed.fetched_ms);
  if (newer) await log.remember("pack", packed);
  return { what: "handover", handed, pack: newer ? pack : null, ...(await log.bring(readLines(rest).lines)) };
}

function textOf(file: Blob): Promise<string> {
  return new Response(file).text(); // Blob.text is younger than the phones we mean
}

function jsonOf(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    return null; // several lines of JSON are no JSON
  }
}
