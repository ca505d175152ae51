// The quantile of the normal distribution: M. J. Wichura, "Algorithm AS 241: The percentage points of the
// normal distribution", Applied Statistics 37 (1988), 477-484, PPND7: seven digits.

const A = [3.3871327179, 50.434271938, 159.29113202, 59.10937472];
const B = [1, 17.895169469, 78.757757664, 67.1875636];
const C = [1.4234372777, 2.75681539, 1.3067284816, 0.17023821103];
const D = [1, 0.7370016425, 0.12021132975];

const poly = (terms: readonly number[], r: number): number => terms.reduceRight((sum, term) => sum * r + term, 0);

/** The value that a standard normal variable stays below with chance `p`, 1e-11 to 1 - 1e-11, to a millionth. */
export function fractile(p: number): number {
  const q = p - 0.5;
  const inner = 0.180625 - q * q;
  if (inner >= 0) return (q * poly(A, inner)) / poly(B, inner);
  const r = Math.sqrt(-Math.log(q < 0 ? p : 1 - p)) - 1.6;
  return (Math.sign(q) * poly(C, r)) / poly(D, r);
}
