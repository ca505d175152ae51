// The error function, to about 1e-15: its Taylor series near nought, a continued fraction further out
// (Abramowitz and Stegun, Handbook of Mathematical Functions, 1964, 7.1.6 and 7.1.14).

/** erf(x) = 2/√π ∫₀ˣ exp(−t²) dt. */
export function erf(x: number): number {
  const size = Math.abs(x);
  if (!(size > 0)) return x;
  if (size > 6) return Math.sign(x);
  return Math.sign(x) * (size < 2.5 ? near(size) : 1 - far(size));
}

function near(x: number): number {
  // 7.1.6: all terms are positive, so nothing cancels
  let term = x;
  let sum = x;
  for (let n = 1; term > sum * 1e-17; n++) {
    term *= (2 * x * x) / (2 * n + 1);
    sum += term;
  }
  return (2 / Math.sqrt(Math.PI)) * Math.exp(-x * x) * sum;
}

function far(x: number): number {
  let below = x;
  for (let n = 60; n > 0; n--) below = x + n / 2 / below;
  return Math.exp(-x * x) / Math.sqrt(Math.PI) / below;
}
