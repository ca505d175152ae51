// How noisy a phone is, measured from its own fixes: the quick part, and how fast it wanders.
import { diff, hypot, mean, median, runningSum } from "./columns";
import type { Flags, Floats } from "./words";

/** Most phones' quick noise is less, m; fixes this near together, s, may show more, up to that, m. */
export const QUIET_M = 0.6;
export const OFTEN_S = 2.5;
const MOST_M = 3;
/** Tangent of the bend up to which a way is a straight. */
const STRAIGHT = Math.tan(Math.PI / 18);

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
export function quickNoise(t: Floats, x: Floats, y: Floats, joined: ArrayLike<number>): number {
  const squares: number[] = [];
  for (let i = 0; i + 3 < t.length; i++) {
    if (!(joined[i] && joined[i + 1] && joined[i + 2])) continue;
    const first = t[i + 1] - t[i];
    const second = t[i + 2] - t[i + 1];
    const third = t[i + 3] - t[i + 2];
    const all = first + second + third;
    const a = -1 / (first * (first + second) * all);
    const b = 1 / (first * second * (second + third));
    const c = -1 / ((first + second) * second * third);
    const d = 1 / (all * (second + third) * third);
    const dx = a * x[i] + b * x[i + 1] + c * x[i + 2] + d * x[i + 3];
    const dy = a * y[i] + b * y[i + 1] + c * y[i + 2] + d * y[i + 3];
    squares.push((dx * dx + dy * dy) / (a * a + b * b + c * c + d * d));
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
  const east = new Float64Array(n);
  const north = new Float64Array(n);
  const straight: number[] = [];
  for (let i = half; i < n - half; i++) {
    if (count[i + half] - count[i - half] !== 2 * half) continue;
    const fromX = x[i] - x[i - half];
    const fromY = y[i] - y[i - half];
    const toX = x[i + half] - x[i];
    const toY = y[i + half] - y[i];
    const bends = Math.abs(fromX * toY - fromY * toX) >= STRAIGHT * (fromX * toX + fromY * toY);
    if (bends || !(speed_m_s[i] > 0.7)) continue;
    const length = hypot(fromX + toX, fromY + toY);
    east[i] = (fromX + toX) / length;
    north[i] = (fromY + toY) / length;
    straight.push(i);
  }
  const lags: number[] = [];
  const spreads: number[] = [];
  const errors: number[] = [];
  for (let k = 1; k < 5; k++) {
    const reach = k * stride;
    const across = straight
      .filter((i) => i >= reach && i < n - reach)
      .map((i) => {
        const dx = x[i + reach] - 2 * x[i] + x[i - reach];
        const dy = y[i + reach] - 2 * y[i] + y[i - reach];
        return Math.abs(east[i] * dy - north[i] * dx);
      });
    if (across.length < 100) return [Number.NaN, Number.NaN];
    lags.push(reach * usual);
    spreads.push((1.4826 * median(across)) ** 2);
    errors.push(spreads[k - 1] * 2.3 * Math.sqrt((2 * reach) / across.length));
  }
  const middle = mean(lags);
  const off = lags.map((lag) => lag - middle);
  const twice = 2 * off.reduce((sum, d) => sum + d * d, 0);
  const slope = off.reduce((sum, d, k) => sum + d * spreads[k], 0);
  return [Math.sqrt(Math.max(slope, 0) / twice), Math.hypot(...off.map((d, k) => d * errors[k])) / twice];
}
