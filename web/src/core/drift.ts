// How large and how quick the drift of a day's positions is, learned from its seams.
//
// The drift is a first-order Gauss-Markov process on each axis, K(Δt) = σ² exp(−|Δt|/τ). Along one
// chain of seam gaps the covariance between rows i and k with times t (later run) and u (earlier)
// is K(t_i−t_k) + K(u_i−u_k) − K(t_i−u_k) − K(u_i−t_k) plus that of steering by the last furrow, a
// Gauss-Markov process of its own. σ and τ maximise the sum of the chains' likelihoods (a composite
// likelihood: chains that share a run are taken as independent) under weak log-normal priors. A
// heavy-tailed form keeps a lost furrow or a wander from passing as drift.
import { linspace, median } from "./columns";
import { factorWhole, solveLower } from "./dense";
import { QUIET_M } from "./noise";
import type { Gaps, Samples } from "./samples";
import { unbroken } from "./spans";
import { tridiagonal, weighed } from "./tridiagonal";
import type { Floats } from "./words";

/**
 * Steering by the last furrow: assumed spread (m), its own uncertainty (factor), correlation (s).
 */
export const [STEER_M, STEER_FACTOR, STEER_S] = [0.22, 1.45, 25];
/** Weak priors: median and factor of one standard deviation. */
const [SIGMA_M, SIGMA_FACTOR] = [1, 2.2];
const [TAU_S, TAU_FACTOR] = [100, 2.5];
const TAUS = geometric(20, 1600, 14);
const SIGMAS = geometric(0.02, 5, 60);
/** How well the raw fixes tell the drift's rate, log units. */
const RATE_LOG = 0.08;
/** At most so many chains and rows of a chain are looked at. */
const [CHAINS, ROWS] = [40, 24];
const NU = 10;
/** Fewer chains than these do not tell the drift by themselves. */
const FEW = 3;

/**
 * What a phone's own fixes tell of its noise: the quick part of one sample, m, the drift's rate σ√(2/τ), m/√s, and one
 * sigma of its square, m²/s, NaN where they do not tell.
 */
export interface Heard {
  readonly white_m: number;
  readonly rate: number;
  readonly rate_error: number;
}

/** One size and quickness that the data leave open, and its weight. */
export interface Size {
  readonly sigma_m: number;
  readonly tau_s: number;
  readonly weight: number;
}

/** Size and correlation time of the drift, with `spread`, a table of what the data leave open. */
export interface Drift {
  readonly sigma_m: number;
  readonly tau_s: number;
  readonly spread: readonly Size[];
}

/**
 * Learn the drift from the day's seams.
 *
 * Of few seams or none it is as large as priors and the rate leave open: a small paddock, a day just
 * begun, rounds. To take such a picture as it was logged would call sure what drift made.
 */
export function learn(s: Samples, rows: Gaps, { white_m, rate, rate_error }: Heard): Drift {
  const chains = picked(rows);
  const middle = rows.gap_m.length > 0 ? median(rows.gap_m) : 0;
  const heard = chains.length < FEW && Number.isFinite(rate);
  const error = Math.max(rate_error || 0, 2 * RATE_LOG * rate * rate + 1e-9);
  const white = Math.min(white_m, QUIET_M); // of more than that the smoother leaves less than that
  const score = TAUS.map(() => new Float64Array(SIGMAS.length));
  for (const at of chains) addChain(score, s, rows, at, middle, white);
  let best = -Infinity;
  TAUS.forEach((tau, i) => {
    SIGMAS.forEach((sigma, j) => {
      score[i][j] -= 0.5 * square(Math.log(sigma / SIGMA_M) / Math.log(SIGMA_FACTOR));
      score[i][j] -= 0.5 * square(Math.log(tau / TAU_S) / Math.log(TAU_FACTOR));
      if (heard) {
        score[i][j] -= 0.5 * square(((2 * sigma * sigma) / tau - rate * rate) / error);
      } else if (rate > 0) {
        score[i][j] -= 0.5 * square(Math.log((sigma * Math.sqrt(2 / tau)) / rate) / RATE_LOG);
      }
      best = Math.max(best, score[i][j]);
    });
  });
  return summed(score, best);
}

/** The middle of the table in logarithms, and what in it has weight. */
function summed(score: readonly Floats[], best: number): Drift {
  let [total, logSigma, logTau] = [0, 0, 0];
  const spread: Size[] = [];
  TAUS.forEach((tau_s, i) => {
    SIGMAS.forEach((sigma_m, j) => {
      const weight = Math.exp(score[i][j] - best);
      total += weight;
      logSigma += weight * Math.log(sigma_m);
      logTau += weight * Math.log(tau_s);
      if (weight > 0.01) spread.push({ sigma_m, tau_s, weight });
    });
  });
  return { sigma_m: Math.exp(logSigma / total), tau_s: Math.exp(logTau / total), spread };
}

/** Whether these seams are too few to tell the drift by themselves. */
export function few(rows: Gaps): boolean {
  return picked(rows).length < FEW;
}

/** Row indices of up to CHAINS chains, each thinned to at most ROWS. */
function picked(rows: Gaps): number[][] {
  let spans = unbroken(rows.chain).filter(([a, b]) => b - a >= 6);
  if (spans.length > CHAINS) {
    const all = spans;
    spans = Array.from(linspace(0, all.length - 1, CHAINS), (i) => all[Math.floor(i)]);
  }
  return spans.map(([a, b]) => {
    const step = Math.max(1, Math.ceil((b - a) / ROWS));
    return Array.from({ length: Math.ceil((b - a) / step) }, (_, k) => a + k * step);
  });
}

/** Add the log-likelihood of one chain over the grid of τ (rows) and σ (columns). */
function addChain(
  score: readonly Floats[],
  s: Samples,
  rows: Gaps,
  at: readonly number[],
  middle: number,
  white_m: number,
): void {
  const n = at.length;
  const t = Float64Array.from(at, (i) => s.t_s[rows.who[3 * i]]);
  const u = Float64Array.from(at, (i) => s.t_s[rows.who[3 * i + 1]]);
  const lower = new Float64Array(n * n);
  for (let i = 0; i < n; i++) {
    for (let k = 0; k <= i; k++) {
      lower[i * n + k] = STEER_M * STEER_M * Math.exp(-Math.abs(t[i] - t[k]) / STEER_S);
    }
    lower[i * n + i] += 2 * white_m * white_m + 1e-4;
  }
  factorWhole(lower, n);
  let own = 0;
  for (let i = 0; i < n; i++) own += Math.log(lower[i * n + i]);
  const white = Float64Array.from(at, (i) => rows.gap_m[i] - middle);
  solveLower(lower, n, white);
  const orderly = inOrder(t) && inOrder(u) && Math.max(u[0], u[n - 1]) <= Math.min(t[0], t[n - 1]);
  TAUS.forEach((tau, row) => {
    const drift = whitened(driftOf(t, u, tau, orderly), lower, n);
    const three = tridiagonal(drift, white.slice());
    SIGMAS.forEach((sigma, column) => {
      const { quadratic, logDeterminant } = weighed(three, sigma * sigma);
      // a heavy-tailed chain: the whole may be wider than the model by chance
      const fit = ((NU + n) / 2) * Math.log1p(quadratic / NU);
      score[row][column] -= fit + 0.5 * logDeterminant + own;
    });
  });
}

/** Whether times only rise, or only fall. */
function inOrder(t: Floats): boolean {
  const way = Math.sign(t[t.length - 1] - t[0]);
  return t.every((now, i) => i === 0 || way * (now - t[i - 1]) > 0);
}

/**
 * Covariance along a chain of a drift of spread 1, later rows at t and earlier ones at u. `orderly`
 * where both only rise or only fall and no t is before any u: then every exponential is a product.
 */
function driftOf(t: Floats, u: Floats, tau_s: number, orderly: boolean): Floats {
  const n = t.length;
  const by = -1 / tau_s;
  const out = new Float64Array(n * n);
  if (orderly) {
    const first = Math.min(t[0], t[n - 1]);
    const [a, b] = [t.map((at) => Math.exp(by * (at - first))), u.map((at) => Math.exp(by * (first - at)))];
    const step = (all: Floats): Floats => all.map((at, i) => (i > 0 ? Math.exp(by * Math.abs(at - all[i - 1])) : 0));
    const [dt, du] = [step(t), step(u)];
    for (let i = 0; i < n; i++) {
      for (let k = i, p = 1, q = 1; k >= 0; p *= dt[k], q *= du[k], k--) {
        out[i * n + k] = out[k * n + i] = p + q - a[i] * b[k] - a[k] * b[i];
      }
    }
    return out;
  }
  for (let i = 0; i < n; i++) {
    for (let k = 0; k <= i; k++) {
      out[i * n + k] = out[k * n + i] =
        Math.exp(by * Math.abs(t[i] - t[k])) +
        Math.exp(by * Math.abs(u[i] - u[k])) -
        Math.exp(by * Math.abs(t[i] - u[k])) -
        Math.exp(by * Math.abs(u[i] - t[k]));
    }
  }
  return out;
}

/** L⁻¹ A L⁻ᵀ of a symmetric A, which is used up. */
function whitened(a: Floats, lower: Floats, n: number): Floats {
  // once along the rows, which are its columns, gives A L⁻ᵀ; once more along those, transposed
  for (let i = 0; i < n; i++) solveLower(lower, n, a.subarray(i * n, i * n + n));
  const out = new Float64Array(n * n);
  for (let i = 0; i < n; i++) {
    for (let k = 0; k < n; k++) out[i * n + k] = a[k * n + i];
    solveLower(lower, n, out.subarray(i * n, i * n + n));
  }
  return out;
}

function square(a: number): number {
  return a * a;
}

/** `count` steps of one ratio, both ends included. */
function geometric(from: number, to: number, count: number): number[] {
  return Array.from(linspace(Math.log(from), Math.log(to), count), Math.exp);
}
