// A day small enough to compute in a blink, as tests/smallday.py: a paddock 200 m long and 48 m wide, sown
// with an 8 m mounted tool in six runs, east and back. The fourth lifts 60 m early: 480 m² stay bare.
import { Plane } from "../../../web/src/core/plane";
import type { Area, Log, Mark, Paddock, Rig } from "../../../web/src/core/words";
import { rigOf } from "./made";

export const LENGTH_M = 200;
export const WIDTH_M = 48;
const TOOL_M = 8;
export const MISSED_M = 60;
const START_MS = 1_746_280_800_000;
const SPEED_M_S = 2;
const RUNS = 6;

export const PLANE = new Plane(49.73, -106.21);
export const RIG: Rig = rigOf({ name: "Small bar", tool: { width_m: TOOL_M } });

const FENCE: Area = [[Float64Array.of(0, 0, LENGTH_M, 0, LENGTH_M, WIDTH_M, 0, WIDTH_M)]];

export const PADDOCK: Paddock = {
  name: "Small paddock",
  area: PLANE.areaToDegrees(FENCE),
  keep_outs: [],
  boundary: "survey",
  notes: [],
};

interface Fix {
  readonly t_ms: number;
  readonly lon: number;
  readonly lat: number;
}

/** The day's log; `less` leaves out taps by their number. */
export function log(less: readonly number[] = []): Log {
  const fixes: Fix[] = [];
  const marks: Mark[] = [];
  let t_ms = START_MS;
  const tap = (lever: "down" | "up"): void => {
    const seq = marks.length + 1;
    marks.push({ t_ms, kind: "lever", phone: "cab", seq, says: { lever } });
  };
  for (let run = 0; run < RUNS; run++) {
    const y = TOOL_M * (run + 0.5);
    const steps = LENGTH_M / SPEED_M_S;
    for (let step = 0; step <= steps; step++) {
      const along = step * SPEED_M_S;
      const x = run % 2 === 0 ? along : LENGTH_M - along;
      if (run === 3) {
        if (step === MISSED_M / SPEED_M_S) tap("down");
      } else if (step === 0) tap("down");
      const [lon, lat] = PLANE.degrees(x, y);
      fixes.push({ t_ms, lon, lat });
      if (step === steps) tap("up");
      t_ms += 1000;
    }
    // round to the next run, tool up
    t_ms += 9000;
  }
  const n = fixes.length;
  const none = new Float64Array(n).fill(Number.NaN);
  return {
    fixes: {
      t_ms: Float64Array.from(fixes, (f) => f.t_ms),
      lat_deg: Float64Array.from(fixes, (f) => f.lat),
      lon_deg: Float64Array.from(fixes, (f) => f.lon),
      acc_m: none,
      speed_m_s: none,
      course_deg: none,
      phone: new Int32Array(n),
      segment: new Int32Array(n),
      phones: ["cab"],
    },
    marks: marks.filter((_, i) => !less.includes(i)),
    skipped: [],
    notes: [],
  };
}
