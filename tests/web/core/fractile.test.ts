// The quantile of the normal distribution, beside tabled values: NIST/SEMATECH e-Handbook of Statistical
// Methods, table of the cumulative distribution function of the standard normal distribution (1.3.6.7.1), and
// further digits from the error function.
import { fractile } from "../../../web/src/core/fractile";

it("gives what stands in the tables", () => {
  for (const [p, z] of [[0.5, 0], [0.84134475, 1], [0.97724987, 2], [0.9986501, 3], [0.95, 1.6448536], [0.99, 2.3263479], [0.00023263, -3.5]] as const) {
    expect(fractile(p)).toBeCloseTo(z, 4);
    expect(fractile(1 - p)).toBeCloseTo(-z, 4);
  }
});

it("undoes the distribution function, in the middle and far out", () => {
  // the density's trapezia from far below: an integral of its own
  const density = (z: number): number => Math.exp((-z * z) / 2) / Math.sqrt(2 * Math.PI);
  const step = 1e-3;
  let sum = 0;
  for (let z = -7; z < 4; z += step) {
    sum += (step * (density(z) + density(z + step))) / 2;
    if (sum > 1e-8 && Math.abs((z + step) % 0.25) < step / 2) expect(fractile(sum)).toBeCloseTo(z + step, 4);
  }
});
