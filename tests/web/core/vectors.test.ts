// Every file of tests/vectors is a test here too: what a stage must answer, in any language.
// tests/vectors/README.md says what each stage's `given` and `expect` hold.
import { readdirSync, readFileSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { patches } from "../../../web/src/core/bare";
import { Chance } from "../../../web/src/core/chance";
import { clean } from "../../../web/src/core/clean";
import { Clip } from "../../../web/src/core/clip";
import { ground, strip, visitedAgain } from "../../../web/src/core/cover";
import { cue, margin } from "../../../web/src/core/cue";
import { infer } from "../../../web/src/core/infer";
import { timeRuns } from "../../../web/src/core/lever";
import { Plane } from "../../../web/src/core/plane";
import {
  cellsOf,
  columnOf,
  gridOver,
  noBits,
  paintQuads,
  rowOf,
} from "../../../web/src/core/raster";
import { areaOf, ringsOf } from "../../../web/src/core/rings";
import { settle } from "../../../web/src/core/settle";
import { worstDeg } from "../../../web/src/core/strain";
import { heightDeg, isNight } from "../../../web/src/core/sun";
import { tapped } from "../../../web/src/core/told";
import { bar, tow } from "../../../web/src/core/tow";
import { trail } from "../../../web/src/core/trail";
import type { Ground, Ring } from "../../../web/src/core/words";
import { wasting } from "./again";
import { cellsIn } from "./cells";
import { asking, ordering, repaying, turning } from "./going";
import { rigOf } from "./made";
import { handing, speaking, stepping } from "./saying";
import { planning } from "./planning";
import { joining, seaming } from "./rigs";
import { pacing, rating, stocking, weighing } from "./stock";

const FOLDER = fileURLToPath(new URL("../../vectors/", import.meta.url));

// oxlint-disable-next-line typescript/no-explicit-any
type Json = any;
interface Case {
  why: string;
  given: Json;
  expect: Json;
  tolerance: Json;
}
const STEPS = ["join", "bridge", "stand", "blind"];
type Stage = (given: Json, want: Json, tolerance: Json) => void;

const numbers = (values: (number | null)[]): Float64Array =>
  Float64Array.from(values, (v) => v ?? Number.NaN);

function near(got: ArrayLike<number>, want: ArrayLike<number>, within: number): void {
  expect(got.length).toBe(want.length);
  let worst = 0;
  for (let i = 0; i < want.length; i++) {
    const off = Math.abs((got[i] ?? Number.NaN) - (want[i] ?? Number.NaN));
    worst = Math.max(worst, Number.isNaN(off) ? Infinity : off);
  }
  expect(worst).toBeLessThanOrEqual(within);
}

const plane: Stage = (given, want, tolerance) => {
  const made = new Plane(given.lat0_deg, given.lon0_deg);
  const [lon, lat] = [numbers(given.lon_deg), numbers(given.lat_deg)];
  const [x, y] = made.toXy(lon, lat);
  near(x, want.x_m, tolerance.metres);
  near(y, want.y_m, tolerance.metres);
  const [backLon, backLat] = made.toDegrees(numbers(want.x_m), numbers(want.y_m));
  const metre = 1 / 111e3;
  const aside = backLon.map(
    (v, i) =>
      (((((v - (lon[i] ?? 0) + 180) % 360) + 360) % 360) - 180) *
      Math.cos(((lat[i] ?? 0) * Math.PI) / 180),
  );
  near(aside, new Float64Array(lon.length), tolerance.metres * metre);
  near(backLat, lat, tolerance.metres * metre);
};

const cleaning: Stage = (given, want, tolerance) => {
  const track = clean({
    t_s: numbers(given.t_s),
    x_m: numbers(given.x_m),
    y_m: numbers(given.y_m),
    acc_m: numbers(given.acc_m),
    speed_m_s: numbers(given.speed_m_s),
    course_rad: numbers(given.course_rad),
  });
  expect(Array.from(track.row)).toEqual(want.rows);
  expect(Array.from(track.step, (s) => STEPS[s])).toEqual(want.steps);
  expect(Array.from(track.backing, (b) => b === 1)).toEqual(want.backing);
  expect(track.dropped).toEqual(want.dropped);
  const m = track.motion;
  near(m.x_m, want.x_m, tolerance.metres);
  near(m.y_m, want.y_m, tolerance.metres);
  near(m.speed_m_s, want.speed_m_s, tolerance.metres_per_second);
  near(m.heading_rad, want.heading_rad, tolerance.radians);
};

const towing: Stage = (given, want, tolerance) => {
  const [x, y] = [numbers(given.x_m), numbers(given.y_m)];
  const tool = bar(rigOf(given.rig), x, y, numbers(given.course_rad));
  const at: number[] = want.at ?? Array.from(x, (_, i) => i);
  const some = (a: Float64Array): number[] => at.map((i) => a[i] ?? Number.NaN);
  near(some(tool.x_m), want.tool_x_m, tolerance.metres);
  near(some(tool.y_m), want.tool_y_m, tolerance.metres);
  const turned = some(tool.heading_rad).map((h, i) => {
    const off = h - want.heading_rad[i];
    return Math.atan2(Math.sin(off), Math.cos(off));
  });
  near(turned, new Float64Array(at.length), tolerance.radians);
};

const settling: Stage = (given, want, tolerance) => {
  const stretches = (given.runs as Json[]).map(({ run, leg, ...poses }) => ({
    run,
    leg,
    front_m: given.front_m,
    rear_m: given.rear_m,
    width_m: given.width_m,
    poses: {
      t_s: numbers(poses.t_s),
      x_m: numbers(poses.x_m),
      y_m: numbers(poses.y_m),
      heading_rad: numbers(poses.heading_rad),
      path_m: numbers(poses.path_m),
    },
  }));
  const boundary =
    given.boundary === null ? null : [[Float64Array.from((given.boundary as number[][]).flat())]];
  const how = {
    white_m: given.white_m,
    rate: given.rate ?? Number.NaN,
    rate_error: given.rate_error ?? Number.NaN,
    pegs: given.pegs,
    draws: 2,
    move: true,
  };
  const picture = settle(stretches, boundary, how, new Chance(1));
  expect(picture.info !== null).toBe(want.settled);
  if (picture.info !== null) near([picture.info["overlap_m"] ?? Number.NaN], [want.overlap_m], tolerance.metres);
  const sixth = (a: Float64Array): Float64Array => a.filter((_, i) => i % 6 === 0);
  near(sixth(picture.east_m), want.east_m, tolerance.metres);
  near(sixth(picture.north_m), want.north_m, tolerance.metres);
};

const link: Stage = (given, want, tolerance) => {
  const steps = { backing: Uint8Array.from(given.backing), fresh: Uint8Array.from(given.fresh) };
  const [x, y] = [numbers(given.x_m), numbers(given.y_m)];
  const heading = tow(x, y, given.length_m, steps, given.reset);
  const turned = heading.map((h, i) => {
    const off = h - want.heading_rad[i];
    return Math.atan2(Math.sin(off), Math.cos(off));
  });
  near(turned, new Float64Array(x.length), tolerance.radians);
};

const lever: Stage = (given, want, tolerance) => {
  const rig = rigOf({ tool: { width_m: given.width_m }, times: given.times });
  const marks = given.taps.map(([t, word]: [number, string], seq: number) => {
    const says = { lever: word };
    return { t_ms: Math.round(t * 1000), kind: "lever", phone: "phone", seq, says };
  });
  const taps = tapped(marks, 0);
  let runs: { down_s: number; up_s: number; on_s: number; off_s: number }[] = [];
  let doubts: (string | number)[][] = [];
  let asked: (string | number)[][] = [];
  if (given.t_s === undefined) {
    const ms = taps.map((tap) => Math.round(tap.t_s * 1000));
    const pairs = ms.filter((_, i) => i % 2 === 0).map((t, i) => [t, ms[2 * i + 1] ?? t] as const);
    runs = timeRuns(pairs, [rig], 0);
  } else {
    const [t_s, x_m, y_m] = [numbers(given.t_s), numbers(given.x_m), numbers(given.y_m)];
    const none = t_s.map(() => Number.NaN);
    const track = clean({ t_s, x_m, y_m, acc_m: none, speed_m_s: none, course_rad: none });
    const found = infer({ track, trail: trail(track, rig), rig }, taps, null);
    runs = [...found.runs];
    doubts = found.doubts.map((d) => [d.from_s, d.to_s, d.why]);
    asked = found.questions.map((q) => [q.kind, q.from_s, q.to_s]);
  }
  const close = (got: unknown[][], wanted: unknown[][]): void => {
    const words = (rows: unknown[][]): unknown[] => rows.flat().filter((v) => typeof v === "string");
    const values = (rows: unknown[][]): number[] =>
      rows.flat().filter((v): v is number => typeof v === "number");
    expect(words(got)).toEqual(words(wanted));
    near(values(got), values(wanted), tolerance.seconds);
  };
  close(
    runs.map((r) => [r.down_s, r.up_s, r.on_s, r.off_s]),
    want.runs,
  );
  close(doubts, want.doubts);
  close(asked, want.questions);
};

const ringOf = (points: [number, number][]): Ring => Float64Array.from(points.flat());
const ringsAt = (points: [number, number][] | null): Ring[] =>
  points === null ? [] : ringsOf([[ringOf(points)]]);

const bare: Stage = (given, want, tolerance) => {
  const area = given.polygons.map((rings: [number, number][][]) => rings.map(ringOf));
  const found = patches(clip, area);
  expect(found.length).toBe(want.patches.length);
  const column = (key: "area_m2" | "width_m" | "length_m"): [number[], number[]] => [
    found.map((patch) => patch[key]),
    want.patches.map((patch: Json) => patch[key]),
  ];
  near(...column("area_m2"), tolerance.square_metres);
  near(...column("width_m"), tolerance.metres);
  near(...column("length_m"), tolerance.metres);
};

const covering: Stage = (given, want, tolerance) => {
  const strips = given.runs.map((run: Json, i: number) => {
    const poses = {
      t_s: numbers(run.t_s),
      x_m: numbers(run.x_m),
      y_m: numbers(run.y_m),
      heading_rad: numbers(run.heading_rad),
      path_m: numbers(run.path_m),
    };
    return strip(i, [poses], given);
  });
  const around = [given.boundary, given.keep_out, given.unreachable].map(ringsAt);
  const { once, runs } = ground(clip, strips, ...(around as [Ring[], Ring[], Ring[]]));
  const { twice, again_m2 } = visitedAgain(clip, strips, once, runs);
  const states: Ground = { ...once, twice };
  for (const [word, area] of Object.entries(want)) {
    const got = word === "again" ? again_m2 : areaOf(states[word as keyof Ground]);
    expect(Math.abs(got - Number(area)), word).toBeLessThan(tolerance.square_metres);
  }
};

const rastering: Stage = (given, want) => {
  const grid = gridOver([ringOf(given.net)], given.heading_rad, given.cell_m);
  expect([grid.rows, grid.columns]).toEqual([want.rows, want.columns]);
  expect(cellsIn(grid, [ringOf(given.polygon)])).toEqual(want.polygon_cells);
  const corner = (of: typeof columnOf): Float64Array =>
    Float64Array.from(given.quad, ([x, y]: [number, number]) => of(grid, x, y));
  const bits = noBits(grid);
  paintQuads(grid, corner(columnOf), corner(rowOf), bits);
  const painted = Array.from({ length: cellsOf(grid) }, (_, cell) => cell).filter((cell) => ((bits[cell >> 5] ?? 0) & (1 << (cell & 31))) !== 0);
  expect(painted).toEqual(want.quad_cells);
};

const cueing: Stage = (given, want, tolerance) => {
  const { phone_ahead_m, width_m, pin_to_axle_m, front_rank_m, rear_rank_m, ...card } = given.rig;
  const rig = rigOf({
    ...card,
    phone: { ahead_of_axle_m: phone_ahead_m, left_of_centre_m: 0 },
    tool: { width_m, pin_to_axle_m, front_rank_m, rear_rank_m },
  });
  const made = cue(rig, given.speed_m_s, margin(given.bare, given.twice, given.spread_m));
  near([made.margin_m, made.lift_m, made.lower_m], [want.margin_m, want.lift_m, want.lower_m], tolerance.metres);
  near([made.lift_s, made.lower_s], [want.lift_s, want.lower_s], tolerance.seconds);
};

const sunlight: Stage = ({ t_ms, lat_deg, lon_deg }, want, tolerance) => {
  near([heightDeg(t_ms, lat_deg, lon_deg)], [want.height_deg], tolerance.degrees);
  expect(isNight(t_ms, lat_deg, lon_deg)).toBe(want.night);
};

const straining: Stage = (given, want, tolerance) => {
  const { tool } = rigOf({ tool: given.tool });
  near([worstDeg(tool, given.turn_rad_s, given.speed_m_s)], [want.worst_deg], tolerance.degrees);
};

const STAGES: Record<string, Stage> = {
  plane,
  clean: cleaning,
  trail: towing,
  tow: link,
  lever,
  cover: covering,
  settle: settling,
  bare,
  raster: rastering,
  cue: cueing,
  sun: sunlight,
  strain: straining,
  dubins: turning,
  order: ordering,
  worth: (given, want, tolerance) => repaying(given, want, tolerance, clip),
  waste: (given, want, tolerance) => wasting(given, want, tolerance, clip),
  balance: weighing,
  rate: rating,
  planning,
  join: joining,
  between: seaming,
  capacity: pacing,
  ledger: stocking,
  handover: handing,
  steps: stepping,
  hangs: asking,
  spoken: speaking,
};

const clip = new Clip();

for (const [stage, run] of Object.entries(STAGES)) {
  const files = readdirSync(FOLDER + stage).filter((name) => name.endsWith(".json"));
  describe(`the vectors of ${stage}`, () => {
    it("are several", () => expect(files.length).toBeGreaterThanOrEqual(5));
    it.each(files)("%s", (name) => {
      const read = JSON.parse(readFileSync(`${FOLDER}${stage}/${name}`, "utf8")) as Case;
      expect(new Set(Object.keys(read))).toEqual(new Set(["why", "given", "expect", "tolerance"]));
      run(read.given, read.expect, read.tolerance);
    });
  });
}
