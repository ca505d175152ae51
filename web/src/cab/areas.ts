// Ground gone over, what was sown twice counted twice, by three ways that know nothing of each other: by the
// map, by the phone's own speeds, by the seed that was used.
import { threeWays } from "../core/balance";
import type { Log, Tally, Way } from "../core/words";
import type { Areas, Bin } from "./sums";

/** Speeds further apart than this tell nothing of what was between, s; of a stretch so much must be told. */
const APART_S = 10;
const COVERED = 0.9;

/** NaN: not known. */
export function areasOf({ fixes }: Log, tally: Pick<Tally, "ways" | "swept_ha">, bins: readonly Bin[], rates: Readonly<Record<string, number>>, t0_ms: number): Areas {
  const seed = bins.find(({ product }) => product === "seed");
  const set = rates["seed"];
  const rows = Array.from(fixes.t_ms.keys()).filter((i) => Number.isFinite(fixes.speed_m_s[i])).sort((i, j) => (fixes.t_ms[i] ?? 0) - (fixes.t_ms[j] ?? 0));
  const speeds = fixes.phones.map((_, phone) => rows.filter((i) => fixes.phone[i] === phone).map((i) => [((fixes.t_ms[i] ?? 0) - t0_ms) / 1000, fixes.speed_m_s[i] ?? 0] as const));
  const map_ha = tally.swept_ha;
  const speed_ha = tally.ways.reduce((sum, way) => sum + bySpeed(way, speeds[fixes.phones.indexOf(way.phone)] ?? []), 0);
  const product_ha = set === undefined || seed === undefined || seed.mean === null ? Number.NaN : (map_ha * seed.mean) / set;
  const [apart, check] = threeWays(map_ha, speed_ha, product_ha);
  return { map_ha, speed_ha, product_ha, apart, check };
}

/** Working width times the way by speeds, ha; NaN where too few tell one. */
function bySpeed({ t_s, width_m }: Way, told: readonly (readonly [number, number])[]): number {
  const [from, to] = [t_s[0] ?? 0, t_s[t_s.length - 1] ?? 0];
  let [covered, way_m] = [0, 0];
  for (let k = 1; k < told.length; k++) {
    const [[a, v], [b, w]] = [told[k - 1] ?? [0, 0], told[k] ?? [0, 0]];
    const seconds = Math.min(b, to) - Math.max(a, from);
    if (seconds <= 0 || b - a > APART_S) continue;
    covered += seconds;
    way_m += (seconds * (v + w)) / 2;
  }
  return covered < COVERED * (to - from) ? Number.NaN : ((way_m / covered) * (to - from) * width_m) / 1e4;
}
