// The one source of chance: seeded, so that a day computed twice says the same.
//
// xoshiro128** (D. Blackman and S. Vigna, "Scrambled linear pseudorandom number generators", ACM
// Transactions on Mathematical Software 47 (2021), 36), its state filled from the seed by splitmix32
// (32-bit variant of Steele, Lea and Flood's SplitMix). Whole numbers of 32 bits only: the same on
// every machine. Home draws with another generator: draws agree in distribution, not one by one.
import type { Floats } from "./words";

export class Chance {
  private a: number;
  private b: number;
  private c: number;
  private d: number;
  private spare = Number.NaN;

  /** Chance from a seed, any whole number; seeds are equal modulo 2³². */
  constructor(seed: number) {
    let state = seed >>> 0;
    const next = (): number => {
      state = (state + 0x9e3779b9) >>> 0;
      let z = state;
      z = Math.imul(z ^ (z >>> 16), 0x85ebca6b);
      z = Math.imul(z ^ (z >>> 13), 0xc2b2ae35);
      return (z ^ (z >>> 16)) >>> 0;
    };
    [this.a, this.b, this.c, this.d] = [next(), next(), next(), next()];
  }

  /** Chance from the generator's own state of four 32-bit words, not all nought. */
  static from(state: readonly [number, number, number, number]): Chance {
    const made = new Chance(0);
    [made.a, made.b, made.c, made.d] = state;
    return made;
  }

  /** A whole number from 0 to 2³² − 1. */
  word(): number {
    const five = Math.imul(this.b, 5);
    const out = Math.imul((five << 7) | (five >>> 25), 9) >>> 0;
    const shifted = this.b << 9;
    this.c ^= this.a;
    this.d ^= this.b;
    this.b ^= this.c;
    this.a ^= this.d;
    this.c ^= shifted;
    this.d = (this.d << 11) | (this.d >>> 21);
    return out;
  }

  /** A number from 0 up to and without 1, with 53 bits. */
  uniform(): number {
    return ((this.word() >>> 5) * 67108864 + (this.word() >>> 6)) / 9007199254740992;
  }

  /** A number with mean 0 and variance 1 (G. Marsaglia's polar method, SIAM Review 6 (1964), 260). */
  normal(): number {
    if (!Number.isNaN(this.spare)) {
      const kept = this.spare;
      this.spare = Number.NaN;
      return kept;
    }
    let u = 0;
    let v = 0;
    let s = 0;
    do {
      u = 2 * this.uniform() - 1;
      v = 2 * this.uniform() - 1;
      s = u * u + v * v;
    } while (s >= 1 || s === 0);
    const size = Math.sqrt((-2 * Math.log(s)) / s);
    this.spare = v * size;
    return u * size;
  }

  /** So many normal numbers. */
  normals(count: number): Floats {
    const out = new Float64Array(count);
    for (let i = 0; i < count; i++) out[i] = this.normal();
    return out;
  }

  /** The numbers 0 to count − 1 in any order (R. Durstenfeld, CACM 7 (1964), 420). */
  ranks(count: number): Int32Array {
    const out = Int32Array.from({ length: count }, (_, i) => i);
    for (let i = count - 1; i > 0; i--) {
      const j = Math.floor(this.uniform() * (i + 1));
      [out[i], out[j]] = [out[j], out[i]];
    }
    return out;
  }

  /** An index, drawn with the given weights (not negative, not all nought). */
  pick(weights: ArrayLike<number>): number {
    let total = 0;
    for (let i = 0; i < weights.length; i++) total += weights[i];
    let left = this.uniform() * total;
    for (let i = 0; i < weights.length; i++) {
      left -= weights[i];
      if (left < 0) return i;
    }
    return weights.length - 1;
  }
}
