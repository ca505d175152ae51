// Of everything on the phone, what belongs to one paddock: the fixes in or near it, the marks of those
// visits, and the rig cards that were named. The rules are those of server/unsown/service (pick,
// fence, rigcards), so that phone and home count the same entries.
import type { PackPaddock, PackRig } from "../carry/pack";
import { rowsOf } from "../core/columns";
import { flat } from "../core/cover";
import { ringsOf, holds, nearest } from "../core/rings";
import { Plane } from "../core/plane";
import type { Fixes, Log, Mark, Paddock, Rig, Ring } from "../core/words";

/** A rig turns, waits and refills beside the paddock; further away it is elsewhere, m. */
const NEAR_M = 300;
/** A mark belongs to a visit that begins or ends within this of it, ms. */
const PAD_MS = 60_000;
/** A phone that logged a position is at work for the rest of so much time, ms. */
const AT_WORK_MS = 10 * 60_000;

type Some = Pick<PackPaddock, "id" | "name" | "land">;

/** Says of a position whether it lies in or near a paddock. */
export function nearTo(land: Paddock): (lon_deg: number, lat_deg: number) => boolean {
  const degrees = ringsOf(land.area ?? []);
  const [lon, lat]: [number[], number[]] = [[], []];
  for (const ring of degrees) ring.forEach((value, i) => (i % 2 === 0 ? lon : lat).push(value));
  const plane = Plane.around(lon, lat);
  const rings: Ring[] = ringsOf(plane.areaToXy(land.area ?? []));
  return (lon_deg, lat_deg) => {
    // a degree of latitude is 111 km: far away is told without the plane
    if (Math.abs(lat_deg - plane.lat0_deg) > 1) return false;
    const [x, y] = plane.point(lon_deg, lat_deg);
    return holds(rings, x, y) || nearest(rings, x, y).distance <= NEAR_M;
  };
}

/** The row of the newest fix; -1 where there is none. */
export function newest({ t_ms, lat_deg, lon_deg }: Fixes): number {
  let at = -1;
  t_ms.forEach((t, i) => {
    const known = Number.isFinite(lat_deg[i]) && Number.isFinite(lon_deg[i]);
    if (known && (at < 0 || t >= (t_ms[at] ?? Number.NEGATIVE_INFINITY))) at = i;
  });
  return at;
}

/** The paddock of the newest position; null where it lies in none. */
export function paddockHere<T extends Some>(fixes: Fixes, paddocks: readonly T[]): T | null {
  const at = newest(fixes);
  if (at < 0) return null;
  const [lon, lat] = [fixes.lon_deg[at] ?? 0, fixes.lat_deg[at] ?? 0];
  const inside = paddocks.find(({ land }) => holds(ringsOf(land.area ?? []), lon, lat));
  return inside ?? paddocks.find(({ land }) => land.area !== null && nearTo(land)(lon, lat)) ?? null;
}

/** When the season of a moment began: the calendar year, by the phone's own clock. */
export const seasonOf = (t_ms: number): number => new Date(new Date(t_ms).getFullYear(), 0, 1).getTime();

/** What belongs to a paddock from a moment on; null where no fix does. */
export function belonging(log: Log, paddock: Some, from_ms: number): Log | null {
  const near = nearTo(paddock.land);
  const { fixes } = log;
  const mine: number[] = [];
  fixes.lon_deg.forEach((lon, i) => {
    if ((fixes.t_ms[i] ?? 0) >= from_ms && near(lon, fixes.lat_deg[i] ?? 0)) mine.push(i);
  });
  if (mine.length === 0) return null;
  const visits = visitsOf(fixes, mine);
  const marks = log.marks.filter(({ t_ms, says }) => {
    const named = says["paddock"];
    if (typeof named === "string") return named === paddock.id;
    return visits.some(([from, to]) => from - PAD_MS <= t_ms && t_ms <= to + PAD_MS);
  });
  return { ...log, fixes: rowsOf(fixes, mine), marks };
}

/** This phone's positions as those of the first phone: times stay on its clock, and its rig is the first. */
export function ownFirst(log: Log, dev: string): Log {
  const { fixes } = log;
  const phones = [dev].concat(fixes.phones.filter((phone) => phone !== dev));
  return { ...log, fixes: { ...fixes, phones, phone: fixes.phone.map((k) => phones.indexOf(fixes.phones[k] ?? "")) } };
}

/** What is not older than a moment. */
export function since(log: Log, from_ms: number): Log {
  const rows: number[] = [];
  log.fixes.t_ms.forEach((t, i) => {
    if (t >= from_ms) rows.push(i);
  });
  return { ...log, fixes: rowsOf(log.fixes, rows), marks: log.marks.filter(({ t_ms }) => t_ms >= from_ms) };
}

/**
 * The log without what other phones saw while this one was logging: where another rig was at work and not every
 * phone named its card, one of them would hide the other.
 */
export function alone(log: Log, dev: string): Log {
  const { fixes } = log;
  const mine = fixes.phones.indexOf(dev);
  const bin = (t: number): number => Math.floor(t / AT_WORK_MS);
  const own = new Set(Array.from(fixes.t_ms.filter((_, i) => fixes.phone[i] === mine), bin));
  const meanwhile = (t: number): boolean => own.has(bin(t));
  const rows: number[] = [];
  fixes.phone.forEach((phone, i) => {
    if (phone === mine || !meanwhile(fixes.t_ms[i] ?? 0)) rows.push(i);
  });
  const marks = log.marks.filter(({ phone, kind, t_ms }) => phone === dev || kind === "blind" || kind === "say" || !meanwhile(t_ms));
  return { ...log, fixes: rowsOf(fixes, rows), marks };
}

/** From when to when each phone was there without having been elsewhere between. */
function visitsOf(fixes: Fixes, mine: readonly number[]): [number, number][] {
  const there = new Uint8Array(fixes.t_ms.length);
  for (const i of mine) there[i] = 1;
  const rows = Array.from(fixes.t_ms.keys()).sort((a, b) => (fixes.t_ms[a] ?? 0) - (fixes.t_ms[b] ?? 0));
  const open = new Map<number, [number, number]>();
  const out: [number, number][] = [];
  for (const i of rows) {
    const phone = fixes.phone[i] ?? 0;
    const t = fixes.t_ms[i] ?? 0;
    const visit = open.get(phone);
    if (there[i] === 0) open.delete(phone);
    else if (visit !== undefined) visit[1] = t;
    else {
      const begun: [number, number] = [t, t];
      open.set(phone, begun);
      out.push(begun);
    }
  }
  return out;
}

/** The entries that name a rig card: the last of each phone before a work began, and those while it lasted. */
export function namedFor(all: Log, { fixes }: Log): Mark[] {
  const first_ms = fixes.t_ms.reduce((least, t) => Math.min(least, t), Infinity);
  const last_ms = fixes.t_ms.reduce((most, t) => Math.max(most, t), -Infinity);
  const there = new Set(Array.from(fixes.phone, (k) => fixes.phones[k]));
  const named = all.marks.filter(({ kind, phone, t_ms }) => kind === "rig" && there.has(phone) && t_ms <= last_ms);
  return named.filter(({ phone, t_ms }) => !named.some((other) => other.phone === phone && other.t_ms > t_ms && other.t_ms <= first_ms));
}

/** The rig cards of each phone by what it named, where several rigs were at work; phones of one card share it. */
export function rigsByPhone(named: readonly Mark[], cards: readonly PackRig[]): Rig[] {
  const groups = new Map<string, { phones: string[]; marks: Mark[] }>();
  for (const phone of Array.from(new Set(named.map((mark) => mark.phone))).sort()) {
    const mine = named.filter((mark) => mark.phone === phone);
    const ids = new Set(mine.map((mark) => cardOf(mark, cards)?.id));
    if (ids.has(undefined)) continue;
    const key = ids.size === 1 ? `${Array.from(ids)[0] ?? ""} ` : phone;
    const group = groups.get(key) ?? { phones: [], marks: [] };
    groups.set(key, { phones: group.phones.concat(phone), marks: group.marks.concat(mine) });
  }
  return flat(Array.from(groups.values(), ({ phones, marks }) => rigsFor(marks, cards).map((rig) => Object.assign({}, rig, { phones }))));
}

/** Whether an entry is a peg check that has a name. */
export const isPeg = ({ kind, says: { name } }: Mark): boolean => kind === "peg" && typeof name === "string" && name !== "";

const cardOf = ({ says: { card } }: Mark, cards: readonly PackRig[]): PackRig | undefined => cards.find(({ id, name }) => id === card || name === card);

/** The rig cards in the order of their times: those that were named, else the one that was saved last. */
export function rigsFor(marks: readonly Mark[], cards: readonly PackRig[]): Rig[] {
  const used: { from_ms: number | null; card: PackRig }[] = [];
  for (const mark of marks.filter(({ kind }) => kind === "rig").sort((a, b) => a.t_ms - b.t_ms)) {
    const card = cardOf(mark, cards);
    if (card !== undefined && used[used.length - 1]?.card !== card) used.push({ from_ms: used.length === 0 ? null : mark.t_ms, card });
  }
  const last = cards.slice().sort((a, b) => a.made_ms - b.made_ms || (a.id < b.id ? -1 : 1))[cards.length - 1];
  if (used.length === 0 && last !== undefined) used.push({ from_ms: null, card: last });
  const rigs: Rig[] = [];
  for (const { from_ms, card } of used) {
    for (const rig of card.chain) {
      const starts = [from_ms, rig.from_ms].filter((t): t is number => t !== null);
      rigs.push({ ...rig, from_ms: starts.length === 0 ? null : Math.max(...starts) });
    }
  }
  return rigs.map((rig, i) => (i === 0 ? Object.assign({}, rig, { from_ms: null }) : rig));
}
