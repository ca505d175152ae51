// Which phones ride on which rig: every rig at work is an outfit of its own.
//
// Cards that name their phones hold for those, the others for every phone that none names. Phones that drive
// side by side ride on one rig, whatever cards they name; phones of one card that drive apart at the same time
// ride on two rigs of that card, if the card names them.
import type { Track } from "./clean";
import { firstNotBelow, hypot, interpAt, median } from "./columns";
import { UnsownError } from "./errors";
import type { Rig } from "./words";

/** Both drove (m/s), seen within this (s), for this long (s): then further apart they are two rigs, m. */
const [DRIVES_M_S, SEEN_S, AT_ONCE_S, APART_M] = [0.5, 10, 120, 50];
/** Nearer than this they ride in one cab, m. */
const CAB_M = 8;

/** Places of its phones among the tracks, and of its cards among the rig cards. */
export interface Outfit {
  readonly tracks: readonly number[];
  readonly cards: readonly number[];
}

/**
 * The rigs that were at work, in the order of their first phones. `names` are the labels of the phones of the
 * tracks, which are on one clock.
 *
 * Throws UnsownError: `rig-of-phone` where a phone has no card, `two-rigs` where two phones that no card names
 * drove apart at once.
 */
export function outfits(names: readonly string[], tracks: readonly Track[], rigs: readonly Rig[]): Outfit[] {
  const held = rigs.map((rig) => rig.phones ?? []);
  const cardsOf = (has: (phones: readonly string[]) => boolean): number[] => held.map((_, k) => k).filter((k) => has(held[k]));
  const unnamed = cardsOf((phones) => phones.length === 0);
  const cards = names.map((name) => {
    const own = cardsOf((phones) => phones.indexOf(name) >= 0);
    return own.length > 0 ? own : unnamed;
  });
  const apart = tracks.map((one) => tracks.map((other) => (one === other ? 0 : atOnce(one, other))));
  const found: { tracks: number[]; cards: number[] }[] = [];
  // a phone without a card may ride beside one that has one
  const order = names.map((_, i) => i).sort((i, j) => Number(!cards[i].length) - Number(!cards[j].length) || i - j);
  for (const i of order) {
    const alike = found.filter((outfit) => String(outfit.cards) === String(cards[i]));
    const place =
      found.find((outfit) => outfit.tracks.some((j) => apart[i][j] < CAB_M)) ??
      alike.find((outfit) => !outfit.tracks.some((j) => apart[i][j] > APART_M));
    if (place !== undefined) {
      place.tracks.push(i);
      place.tracks.sort((a, b) => a - b);
      continue;
    }
    if (cards[i].length === 0) {
      throw new UnsownError("rig-of-phone", `expected a rig card for phone '${names[i]}'`);
    }
    if (cards[i] === unnamed && alike.length > 0) {
      throw new UnsownError("two-rigs", `expected one rig, but '${names[i]}' drove far from another phone at the same time`);
    }
    found.push({ tracks: [i], cards: cards[i] });
  }
  return found.sort((a, b) => a.tracks[0] - b.tracks[0]);
}

/** Median distance of two phones while both drove, m; NaN where they hardly did at once. */
function atOnce(one: Track, other: Track): number {
  const both = [one, other].map(({ t_s, motion: m }) => {
    const speed = m.speed_m_s.map(Math.abs);
    return (t: number): readonly [number, number] | null => {
      const after = Math.min(Math.max(firstNotBelow(t_s, t), 1), t_s.length - 1);
      const drives = t_s[after] - t_s[after - 1] < SEEN_S && interpAt(t, t_s, speed) > DRIVES_M_S;
      return drives ? [interpAt(t, t_s, m.x_m), interpAt(t, t_s, m.y_m)] : null;
    };
  });
  const out: number[] = [];
  const [from, to] = [Math.max(one.t_s[0], other.t_s[0]), Math.min(one.t_s[one.t_s.length - 1], other.t_s[other.t_s.length - 1])];
  for (let t = from; t < to; t++) {
    const [p, q] = [both[0](t), both[1](t)];
    if (p !== null && q !== null) out.push(hypot(p[0] - q[0], p[1] - q[1]));
  }
  return out.length > AT_ONCE_S ? median(out) : Number.NaN;
}
