// Peg checks as offsets: how far each found its peg from where that peg's checks lie on average.
import type { Peg } from "../nouns";

export interface Check {
  t_ms: number;
  dev: string;
  east_m: number;
  north_m: number;
}
export interface Scatter {
  name: string;
  checks: Check[];
}

// metres of a degree on a sphere of the earth's mean radius: good to 0.3 % of some metres
const DEGREE_M = 111_195;

/** Pegs by name, each with its checks in order of time; the same check told twice counts once. */
export function scatters(pegs: readonly Peg[]): Scatter[] {
  const once = new Map(pegs.filter((p) => p.lat_deg !== undefined && p.lon_deg !== undefined).map((p) => [`${p.dev} ${p.t_ms}`, p]));
  return [...grouped([...once.values()])].map(([name, found]) => {
    const lat0 = mean(found.map((p) => p.lat_deg ?? 0));
    const lon0 = mean(found.map((p) => p.lon_deg ?? 0));
    const squeeze = Math.cos((lat0 * Math.PI) / 180);
    const checks = found
      .toSorted((a, b) => a.t_ms - b.t_ms)
      .map(({ t_ms, dev, lat_deg = 0, lon_deg = 0 }) => ({ t_ms, dev, east_m: (lon_deg - lon0) * DEGREE_M * squeeze, north_m: (lat_deg - lat0) * DEGREE_M }));
    return { name, checks };
  });
}

function grouped(pegs: readonly Peg[]): Map<string, Peg[]> {
  const groups = new Map<string, Peg[]>();
  for (const peg of pegs) groups.set(peg.name ?? "", [...(groups.get(peg.name ?? "") ?? []), peg]);
  return groups;
}

const mean = (values: readonly number[]): number => values.reduce((a, b) => a + b, 0) / values.length;

/** The distance of a check from the mean, m. */
export const off = (check: Check): number => Math.hypot(check.east_m, check.north_m);

const ROUND_M = [1, 2, 5, 10, 20, 50, 100];

/** The radius of a picture that holds every check, m. */
export const reach = (checks: readonly Check[]): number => ROUND_M.find((m) => checks.every((check) => off(check) <= m)) ?? 200;
