// When the vehicle stands: a parked phone wanders by metres, and that is no travel.
//
// Two things show it. Over a few seconds the phone hardly moves (by its reported speed, or by its
// positions where it reports none). Or all positions of a whole minute lie within a few metres: a
// satellite picture wanders faster than a vehicle creeps, but it does not get anywhere. The second needs
// no speed and hears no noise; the first finds where the stand begins and ends.
import { firstAbove, firstNotBelow, hypot } from "./columns";
import { marked } from "./spans";
import type { Flags, Floats } from "./words";

/** Slower than this for at least this long is standing, m/s and s. */
const STAND_M_S = 0.25;
const STAND_S = 4;
/** All positions of this many seconds within this box (diagonal) is standing too, s and m. */
const PARKED_S = 60;
const PARKED_M = 10;
/** The diagonal of a minute of white noise alone is six to seven sigmas. */
const PARKED_SIGMAS = 8;
const BIN_S = 10;

/**
 * Fixes of stretches in which the vehicle does not move. Times increase; the reported speed is NaN where
 * not given; the quick noise of a position, m, fills a box too.
 */
export function standing(t: Floats, x: Floats, y: Floats, speed_m_s: Floats, sigma_m = 0): Flags {
  const slow = slowly(t, x, y, speed_m_s);
  const mask = new Uint8Array(t.length);
  for (const [a, b] of marked(slow)) {
    if (t[b - 1] - t[a] >= STAND_S) mask.fill(1, a, b);
  }
  for (const [a, b] of marked(parked(t, x, y, Math.max(PARKED_M, PARKED_SIGMAS * sigma_m)))) {
    let [first, last] = [a, b - 1];
    while (first < b && !slow[first]) first += 1;
    while (last > first && !slow[last]) last -= 1;
    if (first < b && t[last] - t[first] >= PARKED_S / 2) mask.fill(1, first, last + 1);
  }
  return mask;
}

/** Puts the ends of standing stretches at the mean of their first and of their last few fixes. */
export function hold(x_m: Floats, y_m: Floats, stands: Flags): void {
  for (const [first, end] of marked(stands)) {
    const few = Math.min(3, end - first);
    for (const a of [x_m, y_m]) {
      let head = 0;
      let tail = 0;
      for (let i = 0; i < few; i++) {
        head += a[first + i];
        tail += a[end - few + i];
      }
      a[first] = head / few;
      a[end - 1] = tail / few;
    }
  }
}

function slowly(t: Floats, x: Floats, y: Floats, v: Floats): Flags {
  const n = t.length;
  const half = STAND_S / 2;
  const slow = new Uint8Array(n);
  for (let i = 0; i < n; i++) {
    if (Number.isFinite(v[i])) {
      slow[i] = v[i] < STAND_M_S ? 1 : 0;
      continue;
    }
    const ahead = Math.min(firstNotBelow(t, t[i] + half), n - 1);
    const behind = Math.max(firstAbove(t, t[i] - half) - 1, 0);
    const shown =
      hypot(x[ahead] - x[behind], y[ahead] - y[behind]) / Math.max(t[ahead] - t[behind], 1);
    slow[i] = shown < STAND_M_S ? 1 : 0;
  }
  return slow;
}

/** Fixes inside some span of PARKED_S whose positions all lie that near together. */
function parked(t: Floats, x: Floats, y: Floats, within_m: number): Flags {
  const span = Math.round(PARKED_S / BIN_S);
  const out = new Uint8Array(t.length);
  const bins: { place: number; from: number; box: [number, number, number, number] }[] = [];
  for (let i = 0; i < t.length; i++) {
    const place = Math.floor((t[i] - t[0]) / BIN_S);
    let bin = bins[bins.length - 1];
    if (bin === undefined || place > bin.place) {
      bin = { place, from: i, box: [x[i], x[i], y[i], y[i]] };
      bins.push(bin);
    }
    const box = bin.box;
    box[0] = Math.min(box[0], x[i]);
    box[1] = Math.max(box[1], x[i]);
    box[2] = Math.min(box[2], y[i]);
    box[3] = Math.max(box[3], y[i]);
  }
  for (let a = 0; a + span <= bins.length; a++) {
    // only whole minutes count: a gap inside would hide a drive out and back
    if (bins[a + span - 1].place - bins[a].place !== span - 1) continue;
    let [west, east, south, north] = bins[a].box;
    for (let k = a + 1; k < a + span; k++) {
      const { box } = bins[k];
      west = Math.min(west, box[0]);
      east = Math.max(east, box[1]);
      south = Math.min(south, box[2]);
      north = Math.max(north, box[3]);
    }
    const wide = hypot(east - west, north - south);
    const end = a + span < bins.length ? bins[a + span].from : t.length;
    if (wide < within_m) out.fill(1, bins[a].from, end);
  }
  return out;
}
