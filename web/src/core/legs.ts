// Each phone cleaned and towed by itself; where two of a rig overlap the better one is believed.
import { type Raw, type Track, clean } from "./clean";
import { hypot, rowsOf, where } from "./columns";
import { UnsownError } from "./errors";
import { outfits } from "./outfits";
import type { Plane } from "./plane";
import { type Span, joined, without } from "./spans";
import { type Trail, trail } from "./trail";
import { walks } from "./walk";
import type { Fixes, Rig } from "./words";

/** Why fixes are left out that were taken on foot. */
const LEFT = "the phone left the cab";
/** Fixes further apart than this leave the way to another phone, where one saw it, s. */
const SELDOM_S = 12;

/**
 * One phone's track and its trail for each rig card, with the times it is believed for. `outfit` numbers the
 * rigs at work, `cards` are the places of its rig's cards.
 */
export interface Leg {
  readonly phone: string;
  readonly track: Track;
  readonly trails: readonly Trail[];
  readonly windows: readonly Span[];
  readonly outfit: number;
  readonly cards: readonly number[];
}

/**
 * The legs in the order of `fixes.phones`, and how many fixes were left out and why. Seconds are counted
 * from `t0_ms`.
 *
 * Throws UnsownError `track-unusable` where no phone has two usable fixes, `rig-of-phone` or `two-rigs` where
 * phones drove at the same time far from each other and no card names them.
 */
export function legsOf(
  fixes: Fixes,
  plane: Plane,
  rigs: readonly Rig[],
  t0_ms: number,
): { legs: Leg[]; dropped: Record<string, number> } {
  const [x_m, y_m] = plane.toXy(fixes.lon_deg, fixes.lat_deg);
  const all: Raw = {
    t_s: fixes.t_ms.map((t) => (t - t0_ms) / 1000),
    x_m,
    y_m,
    acc_m: fixes.acc_m,
    speed_m_s: fixes.speed_m_s,
    course_rad: fixes.course_deg.map((c) => ((90 - c) * Math.PI) / 180),
  };
  const dropped: Record<string, number> = {};
  const count = (reason: string, many: number): void => {
    if (many > 0) dropped[reason] = (dropped[reason] ?? 0) + many;
  };
  const legs: Leg[] = [];
  fixes.phones.forEach((phone, i) => {
    const mine = where(fixes.phone.map((p) => (p === i ? 1 : 0)));
    if (mine.length === 0) return;
    const { track, walked } = inTheCab(mine.length === fixes.phone.length ? all : rowsOf(all, mine));
    count(LEFT, walked);
    for (const [reason, many] of Object.entries(track.dropped)) count(reason, many);
    if (track.t_s.length === 0) return;
    legs.push({ phone, track, trails: rigs.map((rig) => trail(track, rig)), windows: [], outfit: 0, cards: [] });
  });
  if (legs.length === 0) {
    const why = Object.entries(dropped).map(([reason, many]) => `${many} ${reason}`);
    throw new UnsownError(
      "track-unusable",
      `expected at least two usable fixes, but all ${fixes.t_ms.length} were dropped: ` +
        why.sort().join(", "),
    );
  }
  const found = outfits(legs.map((leg) => leg.phone), legs.map((leg) => leg.track), rigs);
  found.forEach(({ tracks, cards }, outfit) => {
    believed(tracks.map((i) => legs[i])).forEach((leg, k) => {
      legs[tracks[k]] = { ...leg, outfit, cards };
    });
  });
  return { legs, dropped };
}

/**
 * The cleaned track without what the phone did outside the cab, and how many fixes that was. They have
 * to go before the tool is towed: a walk round it would drag it along.
 */
function inTheCab(raw: Raw): { track: Track; walked: number } {
  const track = clean(raw);
  const away = track.t_s.length > 0 ? walks(track) : [];
  if (away.length === 0) return { track, walked: 0 };
  const inside = where(raw.t_s.map((t) => (away.some(([a, b]) => t > a && t < b) ? 0 : 1)));
  return { track: clean(rowsOf(raw, inside)), walked: raw.t_s.length - inside.length };
}

/**
 * Gives every leg the times it is believed for: the quieter phone wherever it saw the way.
 *
 * What nobody saw stays with a phone that was running then: it is blind, not bare.
 */
function believed(legs: readonly Leg[]): Leg[] {
  const spans = legs.map((leg) => running(leg)[0]);
  const noise = legs.length > 1 ? strays(legs) : [0];
  const order = legs.map((_, i) => i).sort((i, j) => noise[i] - noise[j] || i - j);
  let free: Span[] = [[Math.min(...spans.map((s) => s[0])), Math.max(...spans.map((s) => s[1]))]];
  const mine: Span[][] = legs.map(() => []);
  for (const told of [seen, running]) {
    for (const i of order) {
      for (const span of told(legs[i])) {
        mine[i].push(...common(free, span));
        free = without(free, [span]);
      }
    }
  }
  return legs.map((leg, i) => ({ ...leg, windows: joined(mine[i]) }));
}

/** Times between fixes that followed each other soon enough to be one way. */
function seen({ track: { t_s } }: Leg): Span[] {
  const out: Span[] = [];
  let begin = t_s[0];
  for (let k = 1; k <= t_s.length; k++) {
    if (k < t_s.length && t_s[k] - t_s[k - 1] <= SELDOM_S) continue;
    if (t_s[k - 1] > begin) out.push([begin, t_s[k - 1]]);
    if (k < t_s.length) begin = t_s[k];
  }
  return out;
}

function running({ track: { t_s } }: Leg): Span[] {
  return [[t_s[0], t_s[t_s.length - 1]]];
}

function common(spans: readonly Span[], [from, to]: Span): Span[] {
  return spans
    .map(([a, b]): Span => [Math.max(a, from), Math.min(b, to)])
    .filter(([a, b]) => b > a);
}

/** How far each phone strays within a minute, metres: its quick noise and its wander. */
function strays(legs: readonly Leg[]): number[] {
  const told = legs.every((leg) => Number.isFinite(leg.track.rate));
  return legs.map(({ track }) => hypot(track.sigma_m, told ? Math.sqrt(60) * track.rate : 0));
}
