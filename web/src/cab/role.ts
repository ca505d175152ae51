// Which phone keeps the log. A phone that handed it on only looks; so does one that took a handover in, until its
// driver says that it goes on here; so does one that home lets only look.
import type { Handed } from "../carry/handing";
import { alsoKeeping } from "../core/also";
import type { Keeper } from "../keep/keep";
import { createStore } from "./store";
import { cab } from "./state";

export interface Role {
  /** This phone handed the log on, up to its entry `seq`. */
  readonly passed: { readonly at_ms: number; readonly seq: number } | null;
  /** A handover that was taken in, and waits for somebody to go on from it. */
  readonly offered: Handed | null;
  /** What this phone went on from last; null: nothing. */
  readonly taken: Handed | null;
  /** The four taps without which no other phone becomes the keeper; empty: none. */
  readonly pin: string;
}

const KEY = "role";
const NONE: Role = { passed: null, offered: null, taken: null, pin: "" };

export const role = createStore<Role>(NONE);

/** Takes up what was kept, and holds the log to it. */
export async function readRole(log: Keeper): Promise<void> {
  const known = await log.recall<Role>(KEY).catch(() => undefined);
  role.set({ ...NONE, ...known });
  cab.watch(["home"], () => settle(log));
}

/** The phone's part, by what it knows. */
export function partOf({ passed, offered, taken }: Role, may: "keeper" | "rider"): "keeper" | "passed" | "offered" | "rider" {
  if (offered !== null) return "offered";
  if (passed !== null) return "passed";
  return may === "rider" && taken === null ? "rider" : "keeper";
}

/** Changes it; throws KeepError where that cannot be kept, and then nothing has changed. */
export async function changeRole(change: Partial<Role>, log: Keeper): Promise<void> {
  const next = { ...role.get(), ...change };
  await log.remember(KEY, next);
  role.set(next);
  settle(log);
}

function settle(log: Keeper): void {
  const part = partOf(role.get(), cab.get().home?.may ?? "keeper");
  log.look(part !== "keeper");
  cab.set({ part });
}

/** Labels whose entries are this phone's own log so far: those it went on from, and its own. */
export function kept(dev: string): string[] {
  const { taken } = role.get();
  return taken === null ? [dev] : [...taken.before, taken.dev, dev].filter((each, i, all) => all.indexOf(each) === i);
}

/** Looks whether another phone logged at the same time, in what was logged lately. */
export async function notice(log: Keeper): Promise<void> {
  cab.set({ also: alsoKeeping(await log.fixes(Date.now() - LATELY_MS), log.dev) });
}

const LATELY_MS = 48 * 3_600_000;
