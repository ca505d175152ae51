// What a column of numbers is asked again and again, with the answers numpy gives.
import type { Flags, Floats, Ints } from "./words";

type Column = ArrayLike<number>;

/** Differences of neighbours, one shorter than the column. */
export function diff(a: Column): Floats {
  const out = new Float64Array(Math.max(a.length - 1, 0));
  for (let i = 0; i < out.length; i++) out[i] = a[i + 1] - a[i];
  return out;
}

/**
 * Length of the vector (x, y). Math.hypot also guards against overflow, which metres never come near, and
 * costs five times as much.
 */
export function hypot(x: number, y: number): number {
  return Math.sqrt(x * x + y * y);
}

/** So many columns of n noughts. */
export function noughts(count: number, n: number): Floats[] {
  return Array.from({ length: count }, () => new Float64Array(n));
}

/** Running sum that begins with nought: one longer than the column. */
export function runningSum(a: Column): Floats {
  const out = new Float64Array(a.length + 1);
  for (let i = 0; i < a.length; i++) out[i + 1] = out[i] + a[i];
  return out;
}

/** First index whose value is not below `value`, in an increasing column. */
export function firstNotBelow(a: Column, value: number): number {
  let lo = 0;
  let hi = a.length;
  while (lo < hi) {
    const mid = (lo + hi) >> 1;
    if (a[mid] < value) lo = mid + 1;
    else hi = mid;
  }
  return lo;
}

/** First index whose value is above `value`, in an increasing column. */
export function firstAbove(a: Column, value: number): number {
  let lo = 0;
  let hi = a.length;
  while (lo < hi) {
    const mid = (lo + hi) >> 1;
    if (a[mid] <= value) lo = mid + 1;
    else hi = mid;
  }
  return lo;
}

/**
 * Linear interpolation of (x, y) at one place; outside it stays at the ends. x increases; `i` is the last that
 * is not above the place.
 */
export function interpAt(at: number, x: Column, y: Column, i = firstAbove(x, at) - 1): number {
  const last = x.length - 1;
  if (at <= x[0]) return y[0];
  if (at >= x[last]) return y[last];
  return y[i] + ((y[i + 1] - y[i]) / (x[i + 1] - x[i])) * (at - x[i]);
}

/** Linear interpolation at many places. */
export function interp(at: Column, x: Column, y: Column): Floats {
  const out = new Float64Array(at.length);
  for (let i = 0, k = 0; i < out.length; i++) {
    // places mostly stand in order: the one before is next to this one
    if (i === 0 || at[i] < x[k]) k = Math.max(firstAbove(x, at[i]) - 1, 0);
    while (x[k + 1] <= at[i]) k += 1;
    out[i] = interpAt(at[i], x, y, k);
  }
  return out;
}

/** The quantile `q` of the values by linear interpolation; NaN of none. */
export function quantile(a: Column, q: number): number {
  const sorted = Float64Array.from(a).sort();
  if (sorted.length === 0) return Number.NaN;
  const place = q * (sorted.length - 1);
  const low = Math.floor(place);
  const high = Math.min(low + 1, sorted.length - 1);
  return sorted[low] + (sorted[high] - sorted[low]) * (place - low);
}

/** The middle value; NaN of none. */
export function median(a: Column): number {
  const some = copied(a);
  const half = some.length >> 1;
  if (some.length === 0) return Number.NaN;
  const upper = selected(some, half);
  if (some.length % 2 === 1) return upper;
  let lower = -Infinity;
  for (let i = 0; i < half; i++) lower = Math.max(lower, some[i]);
  return (lower + upper) / 2;
}

function copied(a: Column): Floats {
  const out = new Float64Array(a.length);
  for (let i = 0; i < out.length; i++) out[i] = a[i];
  return out;
}

/**
 * The value that would stand at a place if the values were in order; smaller ones are put before it (C. A.
 * R. Hoare, Algorithm 65: Find, CACM 4 (1961), 321). Not a number counts as larger than all.
 */
function selected(a: Floats, place: number): number {
  let [low, high] = [0, a.length - 1];
  for (let i = 0; i <= high; i++) {
    // not-a-numbers go to the end, where they are left alone
    while (high >= i && Number.isNaN(a[high])) high -= 1;
    if (i < high && Number.isNaN(a[i])) [a[i], a[high]] = [a[high], a[i]];
  }
  if (place > high) return Number.NaN;
  while (low < high) {
    const pivot = a[(low + high) >> 1];
    let [i, j] = [low, high];
    while (i <= j) {
      while (a[i] < pivot) i += 1;
      while (a[j] > pivot) j -= 1;
      if (i > j) break;
      const swap = a[i];
      a[i] = a[j];
      a[j] = swap;
      i += 1;
      j -= 1;
    }
    if (place <= j) high = j;
    else if (place >= i) low = i;
    else break;
  }
  return a[place];
}

/**
 * At each place the middle value of itself and `reach` others to each side; beyond the ends the first and
 * the last value go on.
 */
export function runningMedian(a: Column, reach: number): Floats {
  const n = a.length;
  const out = new Float64Array(n);
  const size = 2 * reach + 1;
  // the window sorted: one value leaves it and one comes in at a time
  const all = new Float64Array(n + size);
  for (let j = 0; j < all.length; j++) all[j] = a[Math.min(Math.max(j - reach, 0), n - 1)];
  const near = all.slice(0, size).sort();
  for (let i = 0; i < n; i++) {
    out[i] = near[reach];
    const comes = all[i + size];
    let k = 0;
    while (near[k] < all[i]) k += 1;
    for (; k + 1 < size && near[k + 1] < comes; k++) near[k] = near[k + 1];
    for (; k > 0 && near[k - 1] > comes; k--) near[k] = near[k - 1];
    near[k] = comes;
  }
  return out;
}

/** The nearest whole number, of two the even one: as Python rounds. */
export function halfToEven(value: number): number {
  const low = Math.floor(value);
  if (value - low !== 0.5) return Math.round(value);
  return low % 2 === 0 ? low : low + 1;
}

/** The mean; NaN of none. */
export function mean(a: Column): number {
  let total = 0;
  for (let i = 0; i < a.length; i++) total += a[i];
  return total / a.length;
}

/** `count` even steps from `from` to `to`, both included. */
export function linspace(from: number, to: number, count: number): Floats {
  const out = new Float64Array(count);
  const step = count > 1 ? (to - from) / (count - 1) : 0;
  for (let i = 0; i < count; i++) out[i] = from + i * step;
  if (count > 1) out[count - 1] = to;
  return out;
}

/** Indices at which a flag is set. */
export function where(flags: ArrayLike<number>): Ints {
  const out: number[] = [];
  for (let i = 0; i < flags.length; i++) if (flags[i] !== 0) out.push(i);
  return Int32Array.from(out);
}

/** The values at some indices. */
export function taken<T extends Floats | Ints | Flags>(a: T, rows: Column): T {
  const out = new (a.constructor as new (length: number) => T)(rows.length);
  for (let i = 0; i < out.length; i++) out[i] = a[rows[i]];
  return out;
}

/** Some rows of all columns, in the order given; what is no column stays as it is. */
export function rowsOf<T extends object>(columns: T, rows: Column): T {
  const out: Record<string, unknown> = {};
  for (const [name, column] of Object.entries(columns)) out[name] = ArrayBuffer.isView(column) ? taken(column as Floats, rows) : column;
  return out as T;
}

/** Indices that put the values in increasing order, equal ones as they came. */
export function order(a: Column): Ints {
  const out = new Int32Array(a.length);
  let sorted = true;
  for (let i = 0; i < out.length; i++) {
    out[i] = i;
    if (i > 0 && !(a[i - 1] <= a[i])) sorted = false;
  }
  return sorted ? out : out.sort((i, j) => a[i] - a[j] || i - j);
}

/**
 * Indices by their keys, which are whole numbers below `count`: those of key k stand from `start[k]` to
 * `start[k + 1]`, as they came; those of a negative key nowhere.
 */
export function byKey(key: Ints, count: number): { start: Ints; index: Ints } {
  const start = new Int32Array(count + 1);
  for (let i = 0; i < key.length; i++) if (key[i] >= 0) start[key[i] + 1] += 1;
  for (let k = 0; k < count; k++) start[k + 1] += start[k];
  const next = start.slice();
  const index = new Int32Array(start[count]);
  for (let i = 0; i < key.length; i++) if (key[i] >= 0) index[next[key[i]]++] = i;
  return { start, index };
}

/** The angle to add whole turns to, brought within half a turn of the one before, radians. */
export function unwrap(a: Column): Floats {
  const out = Float64Array.from(a);
  for (let i = 1; i < out.length; i++) {
    const turn = out[i] - out[i - 1];
    if (Math.abs(turn) > Math.PI) out[i] -= 2 * Math.PI * Math.round(turn / (2 * Math.PI));
  }
  return out;
}

/** The remainder that has the sign of the divisor, as Python's %. */
export function modulo(a: number, by: number): number {
  if (a >= 0 && a < by) return a;
  const rest = a % by;
  return rest !== 0 && rest < 0 !== by < 0 ? rest + by : rest;
}

/** Size of the angle between two directions, radians, 0 to π. */
export function turned(a: number, b: number): number {
  return Math.abs(modulo(a - b + Math.PI, 2 * Math.PI) - Math.PI);
}
