// Sown twice: how much by bookkeeping, and of what causes (docs/explain/waste.md).
//
// Width times the way of the openers is all the ground that was seeded, as often as it was; less the ground
// that got seed at all, it is what was seeded again. The map's causes stand beside it, and what they disagree
// by is told as not explained.
import { type Cause, causes } from "./causes";
import { hypot } from "./columns";
import { areaOf } from "./rings";
import type { Area, Rig, Tally } from "./words";

/** What was sown again, hectares: 5 to 95 % band, by cause; `wished_ha` the driver's own choice, of what lies between runs. */
export interface Waste {
  readonly again_ha: number;
  readonly low_ha: number;
  readonly high_ha: number;
  readonly share: number;
  readonly causes: Readonly<Record<Cause, number>>;
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

const ranks = ({ tool }: Rig): number => tool.front_rank_m - tool.rear_rank_m;

/** What a day or a whole sowing of a paddock sowed again. `whole`: its net ground with the keep-outs that lie in it. */
export function waste(tally: Tally, rigs: readonly Rig[], whole: Area): Waste {
  const { ways, runs, sown_ha, part_ha, outside_ha, bare_ha, bare_low_ha, bare_high_ha, doubt_ha, net_ha, swept_ha } = tally;
  const rigOf = new Map(runs.map(({ number, rig }) => [number, rigs[rig]]));
  const half_m = Math.max(0, ...Array.from(rigOf.values(), ranks)) / 2;
  // a run begins with the rear rank and ends with the front one
  const ends = new Map(ways.map(({ run, width_m }) => [run, width_m * ranks(rigOf.get(run) as Rig)]));
  const seeded = Array.from(ends.values()).reduce((sum, m2) => sum + m2 / 1e4, swept_ha);
  const { net, keep_out, bare } = tally.ground;
  // slivers beside seams that no picture holds: as much as is bare on one side is sown again on the other
  const { causes: by_m2, seam_m2, through_m2 } = causes(ways, net, keep_out, whole, half_m, settleOf(tally, rigs), bare_ha * 1e4 - areaOf(bare));
  const ground = sown_ha + part_ha + outside_ha + through_m2 / 1e4;
  const again_ha = Math.max(seeded - ground, 0);
  const drift = tally.settle?.["sigma_m"] ?? 0;
  const part = tally.settle === null ? 1 : Math.min(BARE + BARE_DRIFT * drift, 1);
  const way = (Z * hypot(WALK, WALK_DRIFT * drift) * Math.sqrt(ways.reduce((sum, { width_m, length_m }) => sum + width_m ** 2 * length_m, 0))) / 1e4;
  const by: Record<Cause, number> = Object.assign({}, by_m2);
  let explained = 0;
  for (const name of Object.keys(by) as Cause[]) {
    by[name] /= 1e4;
    explained += by[name];
  }
  const wished = ways.reduce((sum, { run, length_m }) => sum + length_m * (rigOf.get(run) as Rig).tool.overlap_wish_m, 0);
  return {
    again_ha,
    low_ha: Math.max(again_ha - hypot(way, part * (bare_ha - bare_low_ha)), 0),
    high_ha: again_ha + hypot(way, part * (bare_high_ha - bare_ha)),
    share: ground > 0 ? again_ha / ground : 0,
    causes: by,
    wished_ha: Math.min(wished, seam_m2) / 1e4,
    unexplained_ha: again_ha - explained,
    finished: bare_ha + doubt_ha < 0.05 * net_ha,
  };
}

/** Way at a restart within which seeding again was to be expected, m. */
function settleOf({ runs, down_km }: Tally, rigs: readonly Rig[]): number {
  const down_s = runs.reduce((sum, { down_s: from, up_s }) => sum + Math.max(up_s - from, 0), 0);
  const speed = down_s > 0 ? (down_km * 1000) / down_s : 2;
  return Math.max(...rigs.map((rig) => 2 * ranks(rig) + speed * rig.times.fill_s));
}
