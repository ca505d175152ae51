// Sown twice, asked by the vectors.
import type { Clip } from "../../../web/src/core/clip";
import { ringsOf } from "../../../web/src/core/rings";
import { waste } from "../../../web/src/core/waste";
import type { Area, Ring, Run, Tally, Way } from "../../../web/src/core/words";
import { rigOf } from "./made";

// oxlint-disable-next-line typescript/no-explicit-any
type Json = any;

const ringOf = (points: [number, number][]): Ring => Float64Array.from(points.flat());

export function wasting(given: Json, want: Json, tolerance: Json, clip: Clip): void {
  const { front_rank_m, rear_rank_m, overlap_wish_m } = given;
  const rig = rigOf({ tool: { width_m: 10, front_rank_m, rear_rank_m, overlap_wish_m }, times: { fill_s: given.fill_s } });
  const found = waste(tallyOf(given, clip), [rig], [[ringOf(given.net)]]);
  const near = (got: number, wanted: number, slack: number, name: string): void => expect(Math.abs(got - wanted), name).toBeLessThanOrEqual(slack);
  for (const key of ["again_ha", "low_ha", "high_ha"] as const) near(found[key], want[key], tolerance.hectares + given.out_ha, key);
  for (const key of ["wished_ha", "unexplained_ha"] as const) near(found[key], want[key], tolerance.cause + 0.01 * Math.abs(want[key]), key);
  expect(Object.keys(found.causes).toSorted()).toEqual(Object.keys(want.causes).toSorted());
  for (const [name, ha] of Object.entries(found.causes)) near(ha, want.causes[name], tolerance.cause + 0.01 * want.causes[name], name);
  for (const [name, ha] of Object.entries(found.spread_ha)) near(ha, want.spread_ha[name], tolerance.cause + 0.01 * want.spread_ha[name], `spread of ${name}`);
  expect(found.finished).toBe(want.finished);
}

/** What the engine would have found before. */
function tallyOf(given: Json, clip: Clip): Tally {
  const ways: Way[] = given.runs.map((run: Json) => {
    const column = (name: string): Float64Array => Float64Array.from(run[name] as number[]);
    return { ...run, phone: "phone", t_s: column("t_s"), x_m: column("x_m"), y_m: column("y_m"), heading_rad: column("heading_rad") } as Way;
  });
  const keep_out: Area = given.keep_outs.map((ring: [number, number][]) => [ringOf(ring)]);
  const net = clip.polygons(clip.difference([ringOf(given.net)], ringsOf(keep_out)));
  const bare: Area = [[Float64Array.of(0, 0, 100, 0, 100, 100 * given.picture_bare_ha, 0, 100 * given.picture_bare_ha)]];
  const runs = ways.map(({ run: number, t_s }): Run => {
    const [from, to] = [t_s[0] ?? 0, t_s[t_s.length - 1] ?? 0];
    return { number, down_s: from, up_s: to, on_s: from, off_s: to, rig: 0, sure: true, how: "tapped" } as Run;
  });
  return {
    ...given,
    part_ha: 0,
    outside_ha: 0,
    doubt_ha: 0,
    down_km: ways.reduce((sum, { length_m }) => sum + length_m, 0) / 1000,
    ground: { net, keep_out, bare },
    settle: given.drift_m === null ? null : { sigma_m: given.drift_m },
    ways,
    runs,
  } as Tally;
}
