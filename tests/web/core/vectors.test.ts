// Every file of tests/vectors is a test here too: what a stage must answer, in any language.
// tests/vectors/README.md says what each stage's `given` and `expect` hold.
import { readdirSync, readFileSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { Chance } from "../../../web/src/core/chance";
import { clean } from "../../../web/src/core/clean";
import { Plane } from "../../../web/src/core/plane";
import { settle } from "../../../web/src/core/settle";
import { bar } from "../../../web/src/core/tow";
import { rigOf } from "./made";

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

const STAGES: Record<string, Stage> = { plane, clean: cleaning, trail: towing, settle: settling };

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
