// Fills in order: what each hectare really got, what is on board now, where it ran out.
//
// The balance of `balance` kept through a day. Between two fills to the same mark exactly what went in at the
// second was used; where somebody says what was left before a fill, that is better still. Everything else is
// reckoned with the rate that is known so far.
import { BAND_Z, LEVEL_KG, type Left, type Rate, after, left, ranOut } from "./balance";
import { firstNotBelow, hypot, interpAt, median, order, taken } from "./columns";
import type { Floats, Way } from "./words";

/** On less seeded ground than this a fill tells no rate, ha. */
const LEAST_HA = 0.5;
/** The runs that tell the length of a round: the last ones of at least this length, m. */
const LAST = 6;
const LONG_M = 100;
/** A run that ends this near to where it began, as a part of its length, is a whole round. */
const CLOSED = 0.2;

/**
 * One fill of one product: `amount` in kg (or litres); `left` what was still in the bin before, null: not
 * looked at; `same_mark` filled to where it stood after the last fill: it says nothing about the first one.
 */
export interface Fill {
  readonly t_s: number;
  readonly amount: number;
  readonly left: number | null;
  readonly same_mark: boolean;
}

/** Ground seeded up to any time, as often as it was: `ha` at `t_s`, rising. */
export interface Seeded {
  readonly t_s: Floats;
  readonly ha: Floats;
}

/** Hectares seeded until then. */
export const seededAt = ({ t_s, ha }: Seeded, at_s: number): number => (t_s.length === 0 ? 0 : interpAt(at_s, t_s, ha));

/** When so much had been seeded, s; null where it has not been yet. */
export function seededWhen({ t_s, ha }: Seeded, area_ha: number): number | null {
  if (ha.length === 0 || area_ha > ha[ha.length - 1]) return null;
  const k = firstNotBelow(ha, area_ha);
  if (k === 0) return t_s[0];
  const part = ha[k] > ha[k - 1] ? (area_ha - ha[k - 1]) / (ha[k] - ha[k - 1]) : 0;
  return t_s[k - 1] + part * (t_s[k] - t_s[k - 1]);
}

/** When a bin ran empty behind the driver: the best guess and nine times in ten between, s; null: perhaps not yet. */
export interface Out {
  readonly from_s: number;
  readonly at_s: number | null;
  readonly to_s: number | null;
}

/**
 * One fill: ground seeded since the last, what was used on it, the rate that comes to; null where nothing
 * tells. `before` is what was reckoned to be left, `level` what was on board after; `out` where it ran empty
 * after this fill, null where it surely lasted until the next.
 */
export interface Row {
  readonly fill: Fill;
  readonly seeded_ha: number;
  readonly before: number | null;
  readonly used: number | null;
  readonly rate: number | null;
  readonly level: number;
  readonly out: Out | null;
}

/** All fills of a product and what is on board. `rate` null: nothing tells one, and then `now` is null. */
export interface Ledger {
  readonly rows: readonly Row[];
  readonly rate: Rate | null;
  readonly now: Left | null;
  readonly used: number;
  readonly used_ha: number;
}

/** What a hectare really got over all that is known; null where nothing is. */
export const meanOf = ({ used, used_ha }: Ledger): number | null => (used_ha >= LEAST_HA ? used / used_ha : null);

/** Ground seeded over time, from the stretches with the tool down. */
export function seededOf(ways: readonly Way[]): Seeded {
  const many = ways.reduce((all, { t_s }) => all + t_s.length, 0);
  const [t, step] = [new Float64Array(many), new Float64Array(many)];
  let at = 0;
  for (const { t_s, x_m, y_m, length_m, width_m } of ways) {
    const first = at;
    let whole = 0;
    for (let i = 0; i < t_s.length; i++, at++) {
      t[at] = t_s[i];
      if (i > 0) whole += step[at] = hypot(x_m[i] - x_m[i - 1], y_m[i] - y_m[i - 1]);
    }
    const scale = whole > 0 ? (length_m / whole) * (width_m / 1e4) : 0;
    for (let i = first; i < at; i++) step[i] *= scale;
  }
  let sum = 0;
  const rows = order(t);
  return { t_s: taken(t, rows), ha: taken(step, rows).map((ha) => (sum += ha)) };
}

/**
 * The balance through all fills of one product until `now_s`. Before the first fill the bin is taken to have
 * been empty unless `left` says otherwise: at least what went in is on board. `card` is the rate that the meter
 * was set to, null: not known; `level_sigma` how well a level is read, kg (or litres).
 */
export function ledger(fills: readonly Fill[], seeded: Seeded, card: Rate | null, now_s: number, level_sigma = LEVEL_KG): Ledger {
  const rows: Omit<Row, "out">[] = [];
  let [rate, used, used_ha] = [card, 0, 0];
  for (const fill of fills.slice().sort((a, b) => a.t_s - b.t_s)) {
    const last = rows[rows.length - 1];
    if (last === undefined) {
      rows.push({ fill, seeded_ha: 0, before: fill.left, used: null, rate: null, level: (fill.left ?? 0) + fill.amount });
      continue;
    }
    const ha = seededAt(seeded, fill.t_s) - seededAt(seeded, last.fill.t_s);
    const went = fill.left !== null ? last.level - fill.left : fill.same_mark ? fill.amount : null;
    const before = rate === null ? null : last.level - rate.kg_ha * ha;
    const tells = went !== null && ha >= LEAST_HA;
    if (tells) {
      [used, used_ha] = [used + went, used_ha + ha];
      rate = rate === null ? { kg_ha: went / ha, sigma_kg_ha: (Math.SQRT2 * level_sigma) / ha, shared: level_sigma ** 2 / ha } : after(rate, went, ha, level_sigma);
    }
    const level = fill.left !== null ? fill.left + fill.amount : fill.same_mark ? last.level : Math.max(before ?? 0, 0) + fill.amount;
    rows.push({ fill, seeded_ha: ha, before, used: went, rate: tells ? went / ha : null, level });
  }
  const told = rows.map((row, i): Row => {
    const next = rows[i + 1];
    // what was used until the next fill leaves the bin surely not empty: it did not run out, whatever the rate says
    const sure = next !== undefined && next.used !== null && row.level - next.used > BAND_Z * level_sigma;
    return Object.assign({}, row, { out: sure ? null : outOf(row, seeded, rate, next?.used ?? null, next?.fill.t_s ?? now_s, level_sigma) });
  });
  const last = told[told.length - 1];
  const since = last === undefined ? 0 : seededAt(seeded, now_s) - seededAt(seeded, last.fill.t_s);
  const now = last === undefined || rate === null ? null : left(last.level, since, rate, level_sigma);
  return { rows: told, rate, now, used, used_ha };
}

/** Where what was on board after a fill came to its end before the next one, if it did. */
function outOf({ fill, level }: Omit<Row, "out">, seeded: Seeded, rate: Rate | null, used: number | null, until_s: number, level_sigma: number): Out | null {
  if (rate === null) return null;
  // a rate that was told by later levels has nothing to do with how well this one was read
  const found = ranOut(level, used === null ? rate : { ...rate, shared: 0 }, level_sigma);
  const begun = seededAt(seeded, fill.t_s);
  const [from_s, at_s, to_s] = [found.from_ha, found.at_ha, found.to_ha].map((ha) => {
    const when = seededWhen(seeded, begun + ha);
    return when === null || when > until_s ? null : when;
  });
  return from_s === null ? null : { from_s, at_s, to_s };
}

/** The way with seed of one round, m: once round, or up and back; null where no run tells it. */
export function roundOf(ways: readonly Way[]): number | null {
  const runs = new Map<number, Way[]>();
  for (const way of ways) if (way.t_s.length > 0) runs.set(way.run, [...(runs.get(way.run) ?? []), way]);
  const all = Array.from(runs.values(), (mine) => ({
    mine,
    begun_s: Math.min(...mine.map(({ t_s }) => t_s[0])),
    length: mine.reduce((sum, { length_m }) => sum + length_m, 0),
  }));
  const lengths = all
    .filter(({ length }) => length >= LONG_M)
    .sort((a, b) => a.begun_s - b.begun_s)
    .map(({ mine, length }) => {
      const [first, last] = [mine[0], mine[mine.length - 1]];
      const end = last.x_m.length - 1;
      const apart = hypot(last.x_m[end] - first.x_m[0], last.y_m[end] - first.y_m[0]);
      return apart < CLOSED * length ? length : 2 * length;
    });
  return lengths.length === 0 ? null : median(lengths.slice(-LAST));
}
