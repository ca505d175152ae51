// Many fixes a second -> one every half second, each the mean of its few.
//
// At tractor speed that is about a metre: the mean of the fixes over it lies κs²/24 inside a turn,
// 5 mm at 9 m radius, and its quick noise is less. The rest of the engine then costs the same at ten
// fixes a second as at two.
import { diff, median } from "./columns";
import type { Flags, Floats, Ints } from "./words";

/** Fixes closer together than the first are taken together over the second, s. */
const DENSE_S = 0.26;
const TOGETHER_S = 0.5;

/** Fixes of one phone on the plane, times increasing; columns of one length. */
export interface Seen {
  readonly row: Ints;
  readonly t_s: Floats;
  readonly x_m: Floats;
  readonly y_m: Floats;
  readonly speed_m_s: Floats;
  readonly course_rad: Floats;
  readonly stands: Flags;
}

/**
 * The same columns, shorter where fixes are dense. Speeds and courses are means of those given. First
 * and last fix, and those that stand, are kept as they are. The row is that of the middle fix.
 */
export function gather(seen: Seen): Seen {
  const n = seen.t_s.length;
  if (n < 3 || median(diff(seen.t_s)) > DENSE_S) return seen;
  const place = (i: number): number => Math.floor((seen.t_s[i] - seen.t_s[0]) / TOGETHER_S);
  const alone = (i: number): boolean => i === 0 || i === n - 1 || seen.stands[i] === 1;
  const first: number[] = [0];
  for (let i = 1; i < n; i++) {
    if (place(i) > place(i - 1) || alone(i) || alone(i - 1)) first.push(i);
  }
  const ends = [...first.slice(1), n];
  const mean = (value: (i: number) => number): Floats =>
    Float64Array.from(first, (a, k) => {
      let total = 0;
      let known = 0;
      for (let i = a; i < ends[k]; i++) {
        const v = value(i);
        if (!Number.isFinite(v)) continue;
        total += v;
        known += 1;
      }
      return known > 0 ? total / known : Number.NaN;
    });
  const east = mean((i) => Math.cos(seen.course_rad[i]));
  const north = mean((i) => Math.sin(seen.course_rad[i]));
  return {
    row: Int32Array.from(first, (a, k) => seen.row[a + ((ends[k] - a) >> 1)]),
    t_s: mean((i) => seen.t_s[i]),
    x_m: mean((i) => seen.x_m[i]),
    y_m: mean((i) => seen.y_m[i]),
    speed_m_s: mean((i) => seen.speed_m_s[i]),
    course_rad: north.map((y, k) => Math.atan2(y, east[k])),
    stands: Uint8Array.from(first, (a) => seen.stands[a]),
  };
}
