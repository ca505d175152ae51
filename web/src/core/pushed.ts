// A ring pushed out sideways, before it is cleared of what then crosses itself.
//
// At a corner that opens toward the new side the ring goes round it; at one that closes it goes back to the
// corner and out again: what is on the wrong side then winds the other way and drops out of the union by the
// positive rule, also where a shrunken ring has nothing left (X. Chen and S. McMains, "Polygon offsetting by
// computing winding numbers", ASME DETC 2005, from memory).
import { hypot } from "./columns";
import type { Ring } from "./words";

/** A mitred corner reaches out so many distances at most; one that would reach further is cut off square there. */
const MITRE = 2;
/** A turn back on itself, which neither opens nor closes. */
const BACK = -0.999;

/**
 * The ring `by_m` to its right, which is outside where it runs anticlockwise (negative: to its left), with
 * corners mitred, or round with so many corners to a circle. It may cross itself: unite it by the positive rule.
 */
export function pushed(ring: Ring, by_m: number, round: number | "mitred"): Ring {
  const places: number[] = [];
  for (let i = 0, j = ring.length - 2; i < ring.length; j = i, i += 2) {
    if (ring[i] !== ring[j] || ring[i + 1] !== ring[j + 1]) places.push(ring[i], ring[i + 1]);
  }
  const n = places.length;
  const out: number[] = [];
  const side = Math.sign(by_m);
  for (let i = 0; i < n; i += 2) {
    const [x, y] = [places[i], places[i + 1]];
    const put = (u: number, v: number): unknown => out.push(x + by_m * u, y + by_m * v);
    const [a, b] = right(places, (i + n - 2) % n, i);
    const [c, d] = right(places, i, (i + 2) % n);
    const [sine, cosine] = [a * d - b * c, a * c + b * d];
    if (cosine > BACK && sine * by_m < 0) {
      put(a, b);
      out.push(x, y);
      put(c, d);
    } else if (round !== "mitred") {
      const angle = Math.abs(Math.atan2(sine, cosine));
      const steps = Math.ceil((angle * round) / (2 * Math.PI));
      for (let k = 0; k < steps; k++) {
        const turn = (side * k * 2 * Math.PI) / round;
        put(a * Math.cos(turn) - b * Math.sin(turn), a * Math.sin(turn) + b * Math.cos(turn));
      }
      put(c, d);
    } else if (cosine > 2 / MITRE ** 2 - 1) {
      put((a + c) / (1 + cosine), (b + d) / (1 + cosine));
    } else {
      // the middle of the two by how they run: the directions to the right may cancel out
      const size = side / hypot(d - b, a - c);
      const [u, v] = [size * (d - b), size * (a - c)];
      for (const [p, q] of [[a, b], [c, d]] as const) {
        const along = (MITRE - p * u - q * v) / (p * v - q * u);
        put(p - q * along, q + p * along);
      }
    }
  }
  return Float64Array.from(out);
}

/** The direction to the right of the way from one place to another. */
function right(places: readonly number[], from: number, to: number): [number, number] {
  const [x, y] = [places[to] - places[from], places[to + 1] - places[from + 1]];
  const size = hypot(x, y);
  return [y / size, -x / size];
}
