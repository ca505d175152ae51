// How noisy a phone is, measured from its own fixes: the quick part, and how fast it wanders.
import { diff, median, runningSum, turned } from "./columns";
import type { Flags, Floats } from "./words";

/** Most phones' quick noise is less, m; fixes this near together, s, may show more, up to that, m. */
export const QUIET_M = 0.6;
export const OFTEN_S = 2.5;
const MOST_M = 3;

/**
 * The white part of the position noise per axis, m, from third differences.
 *
 * Divided differences take uneven times as they are: over four fixes Σ c_k x_k with
 * c_k = Π 1/(t_k - t_j) is nought on any parabola and has variance σ² Σ c_k² (20 σ² for even fixes and
 * plain differences). The median over the day is deaf to turns; it is taken of the squared length, half
 * of whose median over ln 2 is σ², so that the axes' direction does not matter. Never below 0.01 m
 * (seven decimals of a degree) nor above 3 m; above 0.6 m only where fixes come often: of seldom ones it
 * is turns that are left.
 */
export function quickNoise(t: Floats, x: Floats, y: Floats, joined: Flags): number {
  const squares: number[] = [];
  const c = new Float64Array(4);
  for (let i = 0; i + 3 < t.length; i++) {
    if (!(joined[i] && joined[i + 1] && joined[i + 2])) continue;
    let size = 0;
    for (let k = 0; k < 4; k++) {
      let product = 1;
      for (let j = 0; j < 4; j++) if (j !== k) product *= t[i + k] - t[i + j];
      c[k] = 1 / product;
      size += c[k] * c[k];
    }
    let dx = 0;
    let dy = 0;
    for (let k = 0; k < 4; k++) {
      dx += c[k] * x[i + k];
      dy += c[k] * y[i + k];
    }
    squares.push((dx * dx + dy * dy) / size);
  }
  if (squares.length < 20) return 0.1;
  const most = median(diff(t)) <= OFTEN_S ? MOST_M : QUIET_M;
  return Math.min(Math.max(Math.sqrt(median(squares) / (2 * Math.LN2)), 0.01), most);
}

/**
 * How fast the position error wanders, m/√s, from the raw fixes on straights, and one sigma of its square, m²/s;
 * NaN where they do not tell.
 *
 * Across the path D_L = z(t+L) − 2 z(t) + z(t−L) has variance 6 w² + 2 q² L for white noise w and a
 * wander of rate q (q² = 2σ²/τ of a Gauss-Markov drift); a vehicle on a straight adds next to nothing
 * within a few seconds. The slope over four lags gives q. A variance told by a median of n values is good to
 * 2.3/√n of itself; of values that overlap only so many count as fit beside each other.
 */
export function driftRate(
  t: Floats,
  x: Floats,
  y: Floats,
  speed_m_s: Floats,
  joined: Flags,
): [number, number] {
  const n = t.length;
  const dt = diff(t);
  const usual = dt.length > 0 ? median(dt) : 0;
  if (usual <= 0 || usual > 6) return [Number.NaN, Number.NaN];
  const stride = Math.max(1, Math.round(1 / usual));
  const even = joined.map((on, k) => (on && Math.abs(dt[k] - usual) < 0.2 * usual ? 1 : 0));
  const count = runningSum(even);
  const half = Math.max(2, Math.round(15 / usual));
  const way = new Float64Array(n).fill(Number.NaN);
  const straight = new Uint8Array(n);
  for (let i = half; i < n - half; i++) {
    if (count[i + half] - count[i - half] !== 2 * half) continue;
    const into = Math.atan2(y[i] - y[i - half], x[i] - x[i - half]);
    const out = Math.atan2(y[i + half] - y[i], x[i + half] - x[i]);
    if (turned(out, into) >= Math.PI / 18 || !(speed_m_s[i] > 0.7)) continue;
    straight[i] = 1;
    way[i] = Math.atan2(y[i + half] - y[i - half], x[i + half] - x[i - half]);
  }
  const lags: number[] = [];
  const spreads: number[] = [];
  const errors: number[] = [];
  for (let k = 1; k < 5; k++) {
    const reach = k * stride;
    const across: number[] = [];
    for (let i = reach; i < n - reach; i++) {
      if (!straight[i]) continue;
      const dx = x[i + reach] - 2 * x[i] + x[i - reach];
      const dy = y[i + reach] - 2 * y[i] + y[i - reach];
      across.push(Math.abs(-Math.sin(way[i]) * dx + Math.cos(way[i]) * dy));
    }
    if (across.length < 100) return [Number.NaN, Number.NaN];
    lags.push(reach * usual);
    spreads.push((1.4826 * median(across)) ** 2);
    errors.push(spreads[k - 1] * 2.3 * Math.sqrt((2 * reach) / across.length));
  }
  const mean = lags.reduce((a, b) => a + b, 0) / 4;
  const off = lags.map((lag) => lag - mean);
  const twice = 2 * off.reduce((sum, d) => sum + d * d, 0);
  const slope = off.reduce((sum, d, k) => sum + d * spreads[k], 0);
  return [Math.sqrt(Math.max(slope, 0) / twice), Math.hypot(...off.map((d, k) => d * errors[k])) / twice];
}
