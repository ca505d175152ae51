// Ties the log, home and the farm pack to what the page shows.
import { CallError, call } from "../carry/call";
import { Courier } from "../carry/courier";
import { readPack, type Carried, type Pack } from "../carry/pack";
import { claim, type Home } from "../carry/pair";
import type { Keeper } from "../keep/keep";
import { choices } from "./choices";
import type { Offline } from "./ready";
import { cab } from "./state";
import { speak } from "./words";

/** A pack is fetched anew when home is reached and it is older than this. */
const PACK_MS = 30 * 60_000;
const PACK_PATIENCE_MS = 120_000;

let courier: Courier | null = null;
let fetching: Promise<void> | null = null;

/** What is known of home, before anything else: a phone that may only look adds nothing to a log. */
export async function readHome(log: Keeper): Promise<void> {
  cab.set({ home: (await log.recall<Home>("home").catch(() => undefined)) ?? null });
}

/** Finds what is on the phone and begins to carry; later calls of `sendNow` and others need it. */
export async function beginCarrying(log: Keeper, offline: Offline): Promise<void> {
  const carried = await log.recall<Carried>("pack").catch(() => undefined);
  cab.set({ count: log.count() });
  if (carried !== undefined) {
    try {
      use(readPack(carried));
    } catch {
      // kept by an older page, unreadable to this one: fetched again when home is reached
    }
  }
  const homeOf = (): Home | null => {
    const known = cab.get().home;
    // what was logged before it was handed on still comes home
    return known !== null && known.may === "keeper" && (log.writes || cab.get().part !== "keeper") ? known : null;
  };
  courier = new Courier(
    log,
    homeOf,
    (sending) => cab.set({ sending, count: log.count() }),
    (also) => {
      if (also !== null) cab.set({ also });
      void offline.update(Date.now());
      void freshPack(log).catch(() => undefined); // the one before stays; home is asked again
    },
  );
  log.onWrite(() => cab.set({ count: log.count() }));
  log.onRole(() => void courier?.go());
  window.addEventListener("online", () => void again());
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState === "visible") void again();
  });
  void again(); // home may take its time to be missed
}

/** Tries now; `anew` also where home had refused. */
export async function sendNow(anew = true): Promise<void> {
  await courier?.go(anew);
}

async function again(): Promise<void> {
  await courier?.go();
  const { home, keeper } = cab.get();
  // a phone that only looks sends nothing, and fetches all the same
  if (home !== null && home.may === "rider" && keeper !== null) await freshPack(keeper).catch(() => undefined);
}

async function freshPack(log: Keeper): Promise<void> {
  const { pack } = cab.get();
  if (pack === null || Date.now() - pack.fetched_ms > PACK_MS) await fetchPack(log);
}

/** Fetches the farm pack, reads it, keeps it, and opens what was kept. Throws CallError, UnsownError, KeepError. */
export async function fetchPack(log: Keeper): Promise<void> {
  fetching = fetching ?? fetched(log);
  try {
    await fetching;
  } finally {
    fetching = null;
  }
}

async function fetched(log: Keeper): Promise<void> {
  const { home } = cab.get();
  if (home === null) throw new CallError(401, "unpaired", "");
  const json = await call<unknown>({ method: "GET", path: "/api/pack", token: home.token, patience_ms: PACK_PATIENCE_MS });
  const carried: Carried = { fetched_ms: Date.now(), json };
  readPack(carried);
  await log.remember("pack", carried);
  const kept = await log.recall<Carried>("pack");
  if (kept !== undefined) use(readPack(kept));
}

/** Makes a pack the one in use. */
export function use(pack: Pack): void {
  speak(choices.get().land ?? pack.settings.land);
  cab.set({ pack });
}

/** Pairs with a code, keeps what home said, and carries at once. Throws CallError, KeepError. */
export async function pairWith(code: string, log: Keeper): Promise<Home> {
  const home = await claim(code, log.dev, cab.get().home, Date.now());
  await log.remember("home", home);
  cab.set({ home });
  await sendNow();
  if (home.may === "rider" || cab.get().pack === null) await fetchPack(log).catch(() => undefined);
  return home;
}
