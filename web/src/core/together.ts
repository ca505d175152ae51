// The pictures of a day's rigs settled, laid together where there are several, and what draws are made of.
import { type Part, type Seam, laidTogether, tested } from "./between";
import { Chance } from "./chance";
import { median } from "./columns";
import type { Land } from "./land";
import type { Leg } from "./legs";
import type { PegVisit, Picture, Stretch } from "./picture";
import type { Plane } from "./plane";
import { type Draws, type Settled, allOf, drawsOf, pictureOf, settled } from "./settle";
import type { Log, Settings } from "./words";
import { logOf } from "./work";

/** What the seed of the next rig's draws is larger by. */
const RIG_SEED = 1000;

/** A settled day, plain data, and how many draws of it are wanted from which seed. */
export interface Drawing {
  readonly day: Settled;
  readonly draws: number;
  readonly seed: number;
}

/** What one rig's picture is settled from, plain data. */
export type Settling = Parameters<typeof settled>;

/** The same draws wherever they are made, some at a time. */
export const drawing = ({ day, draws, seed }: Drawing): Iterable<Draws> => drawsOf(day, draws, new Chance(seed));

/** What the pictures of a day's rigs are settled from, one a rig. */
export function settlings(
  stretches: readonly Stretch[],
  log: Log,
  legs: readonly Leg[],
  boundary: Land["surveyed"],
  settings: Settings,
  plane: Plane,
  t0_ms: number,
): Settling[] {
  const every = pegsOf(log, legs, plane, t0_ms);
  return legs.reduce<Settling[]>((all, { outfit }) => {
    const mine = legs.filter((leg) => leg.outfit === outfit);
    const how = {
      white_m: Math.max(...mine.map((leg) => leg.track.sigma_m)),
      rate: median(mine.map((leg) => leg.track.rate).filter(Number.isFinite)),
      rate_error: median(mine.map((leg) => leg.track.rate_error).filter(Number.isFinite)),
      pegs: every.filter(({ leg }) => legs[leg].outfit === outfit),
      move: settings.settle,
    };
    all[outfit] = [stretches.filter(({ leg }) => legs[leg].outfit === outfit), boundary, how];
    return all;
  }, []);
}

/**
 * The settled picture; of several rigs each by itself, then laid together and tested. Of one rig it has no draws
 * yet: `of` tells what they are made of. `one` is that rig settled, where somebody did.
 */
export function together(
  rigs: readonly Settling[],
  log: Log,
  legs: readonly Leg[],
  { seed, draws: count }: Settings,
  plane: Plane,
  one?: Settled,
): { picture: Picture; seams: readonly Seam[]; of: Drawing | undefined } {
  // a chance of its own: with the same one the rigs' draws would wander alike
  const drawings = rigs.map((asked, outfit): Drawing => ({ day: one ?? settled(...asked), draws: count, seed: seed + RIG_SEED * outfit }));
  if (rigs.length === 1) return { picture: pictureOf(rigs[0][0], drawings[0].day, { east_draws: [], north_draws: [] }), seams: [], of: drawings[0] };
  const outfits = legs.map((leg) => leg.outfit);
  const parts = rigs.map(([stretches, , { pegs }], outfit): Part => {
    const { acc_m } = logOf(log, legs.filter((leg) => leg.outfit === outfit).map((leg) => leg.phone), []).fixes;
    const accuracy_m = median(acc_m.filter(Number.isFinite));
    const picture = pictureOf(stretches, drawings[outfit].day, allOf(drawing(drawings[outfit])));
    return { picture, pegs, accuracy_m: accuracy_m || Infinity };
  });
  const picture = laidTogether(parts, new Chance(seed + 3));
  return { picture, seams: tested(picture, outfits, plane), of: undefined };
}

/** The peg checks of the log, by the phone that made them. */
function pegsOf(log: Log, legs: readonly Leg[], plane: Plane, t0_ms: number): PegVisit[] {
  const out: PegVisit[] = [];
  for (const { kind, phone, says, t_ms } of log.marks) {
    const leg = legs.findIndex((one) => one.phone === phone);
    const [lat, lon, name] = [says["lat_deg"], says["lon_deg"], says["name"]];
    if (kind !== "peg" || leg < 0 || typeof lat !== "number" || typeof lon !== "number") continue;
    const [x_m, y_m] = plane.point(lon, lat);
    const t_s = (t_ms - t0_ms) / 1000;
    out.push({ t_s, leg, x_m, y_m, name: typeof name === "string" ? name : "" });
  }
  return out;
}
