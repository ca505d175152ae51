// Two phones and two rigs, asked by the vectors: clocks, presses, and the seam between two pictures.
import { type Part, laidTogether, tested } from "../../../web/src/core/between";
import { Chance } from "../../../web/src/core/chance";
import { oneClock } from "../../../web/src/core/join";
import type { Stretch } from "../../../web/src/core/picture";
import { Plane } from "../../../web/src/core/plane";
import { settle } from "../../../web/src/core/settle";
import type { Log } from "../../../web/src/core/words";

// oxlint-disable-next-line typescript/no-explicit-any
type Json = any;

const PLANE = new Plane(49.73, -106.21);
const T0_MS = 1_778_775_600_000;

export function joining(given: Json, want: Json, tolerance: Json): void {
  const rows: { t: number; at: [number, number]; phone: number }[] = [];
  (given.phones as Json[]).forEach(({ t_s, x_m, y_m }, phone) => {
    (t_s as number[]).forEach((t, i) => rows.push({ t: T0_MS + Math.round(1000 * t), at: PLANE.degrees(x_m[i], y_m[i]), phone }));
  });
  const none = new Float64Array(rows.length).fill(Number.NaN);
  const made: Log = {
    fixes: {
      t_ms: Float64Array.from(rows, (row) => row.t),
      lat_deg: Float64Array.from(rows, (row) => row.at[1]),
      lon_deg: Float64Array.from(rows, (row) => row.at[0]),
      acc_m: none,
      speed_m_s: none,
      course_deg: none,
      phone: Int32Array.from(rows, (row) => row.phone),
      segment: Int32Array.from(rows, (row) => row.phone),
      phones: ["a", "b"],
    },
    marks: (given.presses as [string, number, string][]).map(([phone, t_s, lever], k) => ({ t_ms: T0_MS + Math.round(1000 * t_s), kind: "lever", phone, seq: k + 1, says: { lever } })),
    skipped: [],
    notes: [],
  };
  const { log, clocks } = oneClock(made, PLANE);
  expect(clocks.map(({ phone, other }) => [phone, other])).toEqual(want.ahead_s === null ? [] : [["b", "a"]]);
  rows.forEach(({ t, phone }, i) => {
    const by = (t - (log.fixes.t_ms[i] ?? Number.NaN)) / 1000;
    expect(Math.abs(by - (phone === 1 ? (want.ahead_s ?? 0) : 0))).toBeLessThanOrEqual(phone === 1 ? tolerance.seconds : 0);
  });
  expect(log.marks.map(({ phone }) => phone)).toEqual(want.presses.map(([phone]: [string]) => phone));
  log.marks.forEach(({ t_ms }, i) => expect(Math.abs((t_ms - T0_MS) / 1000 - want.presses[i][1])).toBeLessThanOrEqual(tolerance.seconds));
}

const straight = ({ from, to, from_s, to_s }: Json): Stretch["poses"] => {
  const [east, north] = [to[0] - from[0], to[1] - from[1]];
  const heading = Math.atan2(north, east);
  return {
    t_s: Float64Array.of(from_s, to_s),
    x_m: Float64Array.of(from[0], to[0]),
    y_m: Float64Array.of(from[1], to[1]),
    heading_rad: Float64Array.of(heading, heading),
    path_m: Float64Array.of(0, Math.hypot(east, north)),
  };
};

export function seaming(given: Json, want: Json, tolerance: Json): void {
  const parts = (given.rigs as Json[]).map(({ width_m, rows, pegs, accuracy_m }, leg): Part => {
    const runs = (rows as Json[]).map((row, i): Stretch => ({ run: i + 100 * leg, leg, front_m: 0, rear_m: 0, width_m, poses: straight(row) }));
    const visits = (pegs as Json[]).map((peg) => Object.assign({ leg }, peg));
    const how = { white_m: 0.1, rate: Number.NaN, rate_error: Number.NaN, pegs: visits, draws: 0, move: false };
    return { picture: settle(runs, null, how, new Chance(1)), pegs: visits, accuracy_m: accuracy_m ?? Infinity };
  });
  const whole = laidTogether(parts, new Chance(1));
  whole.samples.leg.forEach((leg, i) => {
    const [east, north] = leg === 1 ? (want.moved_m as [number, number]) : [0, 0];
    expect(Math.abs((whole.east_m[i] ?? Number.NaN) - east)).toBeLessThanOrEqual(tolerance.metres);
    expect(Math.abs((whole.north_m[i] ?? Number.NaN) - north)).toBeLessThanOrEqual(tolerance.metres);
  });
  const found = tested(whole, [0, 1], PLANE);
  expect(found.map(({ told }) => told.rigs)).toEqual(want.seams.map(() => [0, 1]));
  found.forEach(({ told }, i) => {
    const { gap_m, length_m } = want.seams[i];
    expect(Math.abs(told.gap_m - gap_m)).toBeLessThanOrEqual(tolerance.metres);
    expect(Math.abs(told.length_m - length_m)).toBeLessThanOrEqual(tolerance.along_m);
    expect(told.chance).toBe(gap_m > 0.3 ? 1 : 0);
  });
}
