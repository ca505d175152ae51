// Which phone keeps the log. A phone that handed it on only looks; so does one that took a handover in, until its
// driver says that it goes on here; so does one that home lets only look.
import type { Handed } from "../carry/handing";
import { firstNotBelow, hypot, order } from "../core/columns";
import type { Fixes } from "../core/words";
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

/** Positions so near in time and place were taken on one rig, ms and m; so many of them are no chance. */
const BESIDE_MS = 5_000;
const BESIDE_M = 50;
const MANY = 60;
const DEGREE_M = 111_320;

/**
 * Another phone that logged on this rig at the same time as this one; null: none. One of the two ought to only
 * look: home joins what both saw, but the taps of two drivers are not one's.
 */
export function alsoKeeping({ t_ms, lat_deg, lon_deg, phone, phones }: Fixes, dev: string): string | null {
  if (phones.length < 2) return null;
  const mine = phones.indexOf(dev);
  const rows = order(t_ms).filter((i) => phone[i] === mine);
  const own = Float64Array.from(rows, (i) => t_ms[i] ?? 0);
  const counts = phones.map(() => 0);
  phone.forEach((other, i) => {
    if (other === mine) return;
    const [t, lat] = [t_ms[i] ?? 0, lat_deg[i] ?? 0];
    const k = firstNotBelow(own, t - BESIDE_MS);
    const at = rows[k];
    if (at === undefined || (own[k] ?? 0) > t + BESIDE_MS) return;
    const east = ((lon_deg[at] ?? 0) - (lon_deg[i] ?? 0)) * Math.cos((lat * Math.PI) / 180);
    if (hypot((lat_deg[at] ?? 0) - lat, east) * DEGREE_M <= BESIDE_M) counts[other] = (counts[other] ?? 0) + 1;
  });
  const most = counts.indexOf(Math.max(...counts));
  return (counts[most] ?? 0) >= MANY ? (phones[most] ?? null) : null;
}

/** Looks whether another phone logged at the same time, in what was logged lately. */
export async function notice(log: Keeper): Promise<void> {
  cab.set({ also: alsoKeeping(await log.fixes(Date.now() - LATELY_MS), log.dev) });
}

const LATELY_MS = 48 * 3_600_000;
