// Ground gone over, what was sown twice counted twice, by three ways that know nothing of each other: by the
// map, by the phone's own speeds, by the seed that was used.
import { threeWays } from "../core/balance";
import { firstAbove, order, taken } from "../core/columns";
import type { Floats, Log, Tally, Way } from "../core/words";
import type { Areas, Bin } from "./sums";

/** Speeds further apart than this tell nothing of what was between, s; of a stretch so much must be told. */
const APART_S = 10;
const COVERED = 0.9;

/** One phone's times and speeds, s and m/s. */
type Told = readonly [t_s: Floats, speed_m_s: Floats];
const NONE: Told = [new Float64Array(0), new Float64Array(0)];

/** NaN: not known. */
export function areasOf({ fixes }: Log, tally: Pick<Tally, "ways" | "swept_ha">, bins: readonly Bin[], rates: Readonly<Record<string, number>>, t0_ms: number): Areas {
  const seed = bins.find(({ product }) => product === "seed");
  const set = rates["seed"];
  const rows = order(fixes.t_ms).filter((i) => Number.isFinite(fixes.speed_m_s[i]));
  const speeds = fixes.phones.map((_, phone): Told => {
    const mine = rows.filter((i) => fixes.phone[i] === phone);
    return [taken(fixes.t_ms, mine).map((t) => (t - t0_ms) / 1000), taken(fixes.speed_m_s, mine)];
  });
  const map_ha = tally.swept_ha;
  const speed_ha = tally.ways.reduce((sum, way) => sum + bySpeed(way, speeds[fixes.phones.indexOf(way.phone)] ?? NONE), 0);
  const product_ha = set === undefined || seed === undefined || seed.mean === null ? Number.NaN : (map_ha * seed.mean) / set;
  const [apart, check] = threeWays(map_ha, speed_ha, product_ha);
  return { map_ha, speed_ha, product_ha, apart, check };
}

/** Working width times the way by speeds, ha; NaN where too few tell one. */
function bySpeed({ t_s, width_m }: Way, [t, v]: Told): number {
  const [from, to] = [t_s[0] ?? 0, t_s[t_s.length - 1] ?? 0];
  let [covered, way_m] = [0, 0];
  for (let k = Math.max(firstAbove(t, from), 1); k < t.length; k++) {
    const [a, b] = [t[k - 1] as number, t[k] as number];
    if (a >= to) break;
    if (b - a > APART_S) continue;
    const seconds = Math.min(b, to) - Math.max(a, from);
    covered += seconds;
    way_m += (seconds * ((v[k - 1] as number) + (v[k] as number))) / 2;
  }
  return covered < COVERED * (to - from) ? Number.NaN : ((way_m / covered) * (to - from) * width_m) / 1e4;
}
