// Lines moved by what settling found, smoothed on straights; ends shifted by their taps.
import { factored, solved } from "./banded";
import type { Chance } from "./chance";
import { byKey, diff, interp, linspace, median, taken } from "./columns";
import type { Stretch } from "./picture";
import type { Samples } from "./samples";
import { unbroken } from "./spans";
import type { Poses } from "./sweep";
import type { Floats } from "./words";

/** Lines are smoothed below this wavelength on straights, m, at points this far apart, m. */
const [WAVE_M, POINT_M] = [30, 2];
/** Curvature above which a stretch is not straight, 1/m. */
const BEND = 0.012;
/** A tap stands within this of the lever's own moment, one sigma, s. */
const TAP_S = 0.2;

/**
 * Displacements along the heading at the ends of stretches: a tap is a fraction of a second off.
 */
export function tapShifts(s: Samples, chance: Chance): { east: Floats; north: Floats } {
  const [east, north] = [new Float64Array(s.t_s.length), new Float64Array(s.t_s.length)];
  const last = s.t_s.length - 1;
  for (const [first, end] of unbroken(s.stretch)) {
    for (const at of [first, end - 1]) {
      const beside = Math.min(Math.max(at === first ? at + 1 : at - 1, 0), last);
      const way = Math.hypot(s.x_m[at] - s.x_m[beside], s.y_m[at] - s.y_m[beside]);
      const speed = Math.min(way / Math.max(Math.abs(s.t_s[at] - s.t_s[beside]), 0.5), 4);
      const off = chance.normal() * TAP_S * speed;
      east[at] += off * Math.cos(s.heading_rad[at]);
      north[at] += off * Math.sin(s.heading_rad[at]);
    }
  }
  return { east, north };
}

/** A function that smooths values at samples along each stretch. */
export function along(s: Samples): (values: Floats) => Floats {
  const [dx, dy] = [diff(s.x_m), diff(s.y_m)];
  const spacing = dx.length > 0 ? median(dx.map((x, i) => Math.hypot(x, dy[i]))) : 8;
  const stiff = Math.pow(WAVE_M / (2 * Math.PI * spacing), 4);
  const bands = unbroken(s.stretch)
    .filter(([first, end]) => end - first > 4)
    .map(([first, end]) => {
      return { first, end, band: whittaker(new Float64Array(end - first).fill(stiff), [1, -2, 1]) };
    });
  return (values) => {
    const out = values.slice();
    for (const { first, end, band } of bands) solved(band, 2, out.subarray(first, end));
    return out;
  };
}

/** Stretches moved by a displacement at their samples, then smoothed on straights. */
export function moved(
  stretches: readonly Stretch[],
  s: Samples,
  east: Floats,
  north: Floats,
): Stretch[] {
  const { start, index } = byKey(s.stretch, stretches.length);
  return stretches.map((stretch, number) => {
    const rows = index.subarray(start[number], start[number + 1]);
    const { poses } = stretch;
    const t = taken(s.t_s, rows);
    const dx = interp(poses.t_s, t, taken(east, rows));
    const dy = interp(poses.t_s, t, taken(north, rows));
    const x_m = poses.x_m.map((x, i) => x + dx[i]);
    const y_m = poses.y_m.map((y, i) => y + dy[i]);
    return { ...stretch, poses: straightened({ ...poses, x_m, y_m }) };
  });
}

/** The stretch with the roughness below WAVE_M taken out where it runs straight. */
function straightened(p: Poses): Poses {
  const way = p.path_m.map((path) => path - p.path_m[0]);
  const end = way[way.length - 1];
  const count = Math.floor(end / POINT_M) + 1;
  if (count < 8) return p;
  const at = linspace(0, end, count);
  const h = interp(at, way, p.heading_rad);
  const reach = Math.max(1, Math.round(12 / POINT_M));
  const whole = Math.pow(WAVE_M / (2 * Math.PI * POINT_M), 6);
  const stiff = at.map((_, i) => {
    const [ahead, behind] = [Math.min(i + reach, count - 1), Math.max(i - reach, 0)];
    const bend = Math.abs(h[ahead] - h[behind]) / Math.max(at[ahead] - at[behind], 1);
    return whole * Math.min(Math.max((2 * BEND - bend) / BEND, 1e-4), 1);
  });
  const band = whittaker(stiff, [-1, 3, -3, 1]);
  const softer = (line: Floats): Floats => {
    const rough = interp(at, way, line);
    const soft = solved(band, 3, rough.slice());
    const off = interp(
      way,
      at,
      soft.map((value, i) => value - rough[i]),
    );
    return line.map((value, i) => value + off[i]);
  };
  return { ...p, x_m: softer(p.x_m), y_m: softer(p.y_m) };
}

/**
 * The factor of least squares of value and of local `stiff` times differences, whose taps are given
 * (E. T. Whittaker, Proc. Edinburgh Math. Soc. 41 (1923), from memory).
 */
function whittaker(stiff: Floats, taps: readonly number[]): Floats {
  const n = stiff.length;
  const reach = taps.length - 1;
  const band = new Float64Array(n * (reach + 1));
  for (let i = 0; i < n; i++) band[i * (reach + 1) + reach] = 1;
  for (let first = 0; first + reach < n; first++) {
    for (let j = 0; j <= reach; j++) {
      const row = (first + j) * (reach + 1) + reach;
      for (let i = 0; i <= j; i++) band[row + i - j] += stiff[first] * taps[i] * taps[j];
    }
  }
  return factored(band, reach);
}
