// Whether another phone logs on this rig as well. At home the log of all phones is joined anyhow; a phone tells its driver.
import { firstNotBelow, hypot, order } from "./columns";
import type { Fixes } from "./words";

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
  const own = Float64Array.from(rows, (i) => t_ms[i]);
  const counts = phones.map(() => 0);
  phone.forEach((other, i) => {
    if (other === mine) return;
    const [t, lat] = [t_ms[i], lat_deg[i]];
    const k = firstNotBelow(own, t - BESIDE_MS);
    if (k === own.length || own[k] > t + BESIDE_MS) return;
    const east = (lon_deg[rows[k]] - lon_deg[i]) * Math.cos((lat * Math.PI) / 180);
    if (hypot(lat_deg[rows[k]] - lat, east) * DEGREE_M <= BESIDE_M) counts[other] += 1;
  });
  const most = counts.indexOf(Math.max(...counts));
  return counts[most] >= MANY ? phones[most] : null;
}
