// The battery: how full, and how long it lasts as it drains now. Many browsers do not tell.
import type { Battery } from "./state";

interface Manager extends EventTarget {
  readonly level: number;
  readonly charging: boolean;
}

/** Drain is judged over at least so long, and over at least two steps of what browsers tell. */
const LEAST_MS = 10 * 60_000;
const LEAST_PART = 0.02;
/** Entries are written when the charge falls below one of these. */
const STEPS = [0.5, 0.2, 0.1, 0.05];

export interface Reading {
  readonly t_ms: number;
  readonly part: number;
}

/** Hours that are left at the drain since a first reading; null: too little is known, or it does not fall. */
export function hoursLeft(first: Reading, now: Reading): number | null {
  const drained = first.part - now.part;
  const ms = now.t_ms - first.t_ms;
  if (ms < LEAST_MS || drained < LEAST_PART) return null;
  return (now.part / drained) * (ms / 3_600_000);
}

/** The lowest step that was passed on the way down; null where none was. */
export function stepPassed(before: number, now: number): number | null {
  const passed = STEPS.filter((step) => before > step && now <= step);
  return passed.length === 0 ? null : Math.min(...passed);
}

/**
 * Follows the battery; `tell` hears every change, `note` what is worth an entry. `tell(null)` once
 * where the browser does not tell.
 */
export async function followBattery(tell: (battery: Battery | null) => void, note: (battery: Battery) => void): Promise<void> {
  const ask = (navigator as Navigator & { getBattery?: () => Promise<Manager> }).getBattery;
  const manager = ask === undefined ? null : await ask.call(navigator).catch(() => null);
  if (manager === null) {
    tell(null);
    return;
  }
  let first: Reading = { t_ms: Date.now(), part: manager.level };
  let before: Battery | null = null;
  const look = (): void => {
    const now = { t_ms: Date.now(), part: manager.level };
    if (manager.charging || now.part > first.part) first = now; // drain is counted from here on
    const found: Battery = { part: manager.level, charging: manager.charging, left_h: manager.charging ? null : hoursLeft(first, now) };
    if (before !== null && (before.charging !== found.charging || stepPassed(before.part, found.part) !== null)) note(found);
    before = found;
    tell(found);
  };
  manager.addEventListener("levelchange", look);
  manager.addEventListener("chargingchange", look);
  look();
}
