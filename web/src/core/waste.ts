// Sown twice: how much by bookkeeping, and of what causes (docs/explain/waste.md).
//
// Width times the way of the openers is all the ground that was seeded, as often as it was; less the ground
// that got seed at all, it is what was seeded again. The map's causes stand beside it, and what they disagree
// by is told as not explained.
import { type Cause, CAUSES, causes } from "./causes";
import { hypot } from "./columns";
import { areaOf } from "./rings";
import type { Area, Ground, Rig, Tally } from "./words";

/** What is asked of a tally here. */
export type Sowing = Pick<Tally, "ways" | "runs" | "settle" | "sown_ha" | "part_ha" | "outside_ha" | "bare_ha" | "bare_low_ha" | "bare_high_ha" | "doubt_ha" | "net_ha" | "swept_ha" | "down_km"> & {
  readonly ground: Pick<Ground, "net" | "keep_out" | "bare">;
};

/** What was sown again, hectares: 5 to 95 % band, by cause, and half the band of each; `wished_ha` the driver's own choice, of what lies between runs. */
export interface Waste {
  readonly again_ha: number;
  readonly low_ha: number;
  readonly high_ha: number;
  readonly share: number;
  readonly causes: Readonly<Record<Cause, number>>;
  readonly spread_ha: Readonly<Record<Cause, number>>;
  readonly wished_ha: number;
  readonly unexplained_ha: number;
  /** False: much is still bare, so the headline leans on the map. */
  readonly finished: boolean;
}

/** The way is off by so many m for each √m, one sigma, and with each metre of drift. */
const WALK = 0.027;
const WALK_DRIFT = 0.032;
/** So much of the band of bare ground counts where a picture was settled, and more with each metre of drift. */
const BARE = 0.75;
const BARE_DRIFT = 0.12;
const Z = 1.645;
/** One sigma: of what was left, so much of the band of bare ground; of what of a run went over sown ground, of drift over width. */
const LEFT = 0.38;
const OVER = 0.42;
/** Half the band of another cause: so many 1/m, times drift (so much at least), times the root of its area (so many ha at least) and the net one. */
const EACH = 0.011;
const LEAST_M = 0.05;
const LEAST_HA = 0.005;

const ranks = ({ tool }: Rig): number => tool.front_rank_m - tool.rear_rank_m;

/** What a day or a whole sowing of a paddock sowed again. `whole`: its net ground with the keep-outs that lie in it. */
export function waste(tally: Sowing, rigs: readonly Rig[], whole: Area): Waste {
  const { ways, runs, sown_ha, part_ha, outside_ha, bare_ha, bare_low_ha, bare_high_ha, doubt_ha, net_ha, swept_ha } = tally;
  const rigOf = new Map(runs.map(({ number, rig }) => [number, rigs[rig]]));
  const half_m = Math.max(0, ...Array.from(rigOf.values(), ranks)) / 2;
  // a run begins with the rear rank and ends with the front one
  const ends = new Map(ways.map(({ run, width_m }) => [run, width_m * ranks(rigOf.get(run) as Rig)]));
  const seeded = Array.from(ends.values()).reduce((sum, m2) => sum + m2 / 1e4, swept_ha);
  const { net, keep_out, bare } = tally.ground;
  // slivers beside seams that no picture holds: as much as is bare on one side is sown again on the other
  const drift = tally.settle?.["sigma_m"] ?? 0;
  const left_off = (Z * LEFT * (bare_high_ha - bare_low_ha)) / Math.max(net_ha, 1e-9);
  const over_off = (Z * OVER * drift) / Math.max(0, ...ways.map(({ width_m }) => width_m)) || 0;
  const { causes: by_m2, swing_m2, seam_m2, through_m2 } = causes(ways, net, keep_out, whole, half_m, settleOf(tally, rigs), bare_ha * 1e4 - areaOf(bare), left_off, over_off);
  const ground = sown_ha + part_ha + outside_ha + through_m2 / 1e4;
  const again_ha = Math.max(seeded - ground, 0);
  const part = tally.settle === null ? 1 : Math.min(BARE + BARE_DRIFT * drift, 1);
  const way = (Z * hypot(WALK, WALK_DRIFT * drift) * Math.sqrt(ways.reduce((sum, { width_m, length_m }) => sum + width_m ** 2 * length_m, 0))) / 1e4;
  const down = hypot(way, part * (bare_ha - bare_low_ha));
  const up = hypot(way, part * (bare_high_ha - bare_ha));
  const [by, spread] = [{}, {}] as Record<Cause, number>[];
  let [explained, square] = [0, ((down + up) / 2) ** 2];
  for (const name of CAUSES) {
    const ha = (by[name] = by_m2[name] / 1e4);
    explained += ha;
    spread[name] = name === "finishing" ? swing_m2 / 1e4 : EACH * hypot(drift, LEAST_M) * Math.sqrt(Math.max(ha, LEAST_HA) * net_ha);
    if (name !== "between runs") square += spread[name] ** 2;
  }
  // between runs has what the rest leaves of the headline
  spread["between runs"] = Math.sqrt(square);
  const wished = ways.reduce((sum, { run, length_m }) => sum + length_m * (rigOf.get(run) as Rig).tool.overlap_wish_m, 0);
  return {
    again_ha,
    low_ha: Math.max(again_ha - down, 0),
    high_ha: again_ha + up,
    share: ground > 0 ? again_ha / ground : 0,
    causes: by,
    spread_ha: spread,
    wished_ha: Math.min(wished, seam_m2) / 1e4,
    unexplained_ha: again_ha - explained,
    finished: bare_ha + doubt_ha < 0.05 * net_ha,
  };
}

/** Way at a restart within which seeding again was to be expected, m. */
function settleOf({ runs, down_km }: Sowing, rigs: readonly Rig[]): number {
  const down_s = runs.reduce((sum, { down_s: from, up_s }) => sum + Math.max(up_s - from, 0), 0);
  const speed = down_s > 0 ? (down_km * 1000) / down_s : 2;
  return Math.max(...rigs.map((rig) => 2 * ranks(rig) + speed * rig.times.fill_s));
}
