// The whole engine on a day whose ground is known by hand; and days that cannot be computed.
import { Clip } from "../../../web/src/core/clip";
import { flat } from "../../../web/src/core/cover";
import { find, finding, whole } from "../../../web/src/core/day";
import { type Brought, type Errand, errand, fetched, fetching } from "../../../web/src/core/errand";
import { UnsownError } from "../../../web/src/core/errors";
import { type Log, type Paddock, SETTINGS } from "../../../web/src/core/words";
import { LENGTH_M, log, MISSED_M, PADDOCK, PLANE, RIG, WIDTH_M } from "./smallday";

const clip = new Clip();

const AS_LOGGED = { ...SETTINGS, settle: false, draws: 12 };

function code(run: () => unknown): string {
  try {
    run();
  } catch (error) {
    if (error instanceof UnsownError) {
      expect(error.message).toMatch(/^expected /);
      return error.code;
    }
    throw error;
  }
  return "nothing was refused";
}

describe("a small day", () => {
  it("has the areas that its plan has", () => {
    const { tally } = find(log(), PADDOCK, [RIG], AS_LOGGED, clip);
    const missed = (8 * MISSED_M) / 1e4;
    expect(Math.abs(tally.net_ha - (LENGTH_M * WIDTH_M) / 1e4)).toBeLessThan(1e-4);
    // the path is smoothed where the phone jumps from one run's end to the next one's beginning
    expect(Math.abs(tally.bare_ha - missed)).toBeLessThan(2e-3);
    expect(Math.abs(tally.sown_ha - (tally.net_ha - missed))).toBeLessThan(2e-3);
    expect(tally.twice_ha).toBeLessThan(1e-3);
    expect(tally.patches.map((p) => p.call)).toEqual(["sure"]);
    const [patch] = tally.patches;
    const [x, y] = PLANE.point(patch?.lon_deg ?? 0, patch?.lat_deg ?? 0);
    expect(x).toBeGreaterThan(LENGTH_M - MISSED_M);
    expect(Math.floor(y / 8)).toBe(3);
    expect(tally.runs.length).toBe(6);
    expect(tally.ways.map((way) => way.run)).toEqual([1, 2, 3, 4, 5, 6]);
    expect(tally.questions).toEqual([]);
    expect(tally.settle).toBeNull();
  });

  it("adds up: sown, part, bare, doubt and out of reach are the paddock less keep-outs", () => {
    const { tally } = find(log(), PADDOCK, [RIG], AS_LOGGED, clip);
    const sum =
      tally.sown_ha + tally.part_ha + tally.bare_ha + tally.doubt_ha + tally.unreachable_ha;
    expect(Math.abs(sum - tally.net_ha)).toBeLessThan(1e-5);
  });

  it("says the same when computed again, whatever went before", () => {
    const once = find(log(), PADDOCK, [RIG], SETTINGS, clip).tally;
    find(log([2, 3]), PADDOCK, [RIG], SETTINGS, clip);
    expect(find(log(), PADDOCK, [RIG], SETTINGS, clip).tally).toEqual(once);
  });

  it("says the same with what was fetched elsewhere, from plain data, and takes a picture of the runs as tapped only where they were", () => {
    // draws come some at a time; where no more come the first makes the rest
    const tenths = (brought: Brought): Brought[] => {
      if (!("east_draws" in brought)) return [brought];
      const { east_draws: east, north_draws: north } = brought;
      return Array.from({ length: 10 }, (_, k) => ({ east_draws: east.slice(6 * k, 6 * k + 6), north_draws: north.slice(6 * k, 6 * k + 6) }));
    };
    const wantedOf = (less: number[], most: number): string[] => {
      const days = finding(log(less), PADDOCK, [RIG], SETTINGS, clip);
      const sent = new Map<Errand | undefined, Brought[]>();
      const wanted: string[] = [];
      let step = days.next();
      while (step.done !== true) {
        const { send, want } = step.value;
        if (send !== undefined) sent.set(send, flat(Array.from(fetching(structuredClone(send)), tenths)).slice(0, send.for === "twice" ? 1 : most));
        if (want !== undefined) wanted.push(want.for);
        step = days.next(structuredClone(sent.get(want)?.shift()));
      }
      expect(whole(step.value, sent.get(step.value.again)?.shift()).tally).toEqual(find(log(less), PADDOCK, [RIG], SETTINGS, clip).tally);
      return wanted;
    };
    const times = (count: number, name: string): string[] => Array.from({ length: count }, () => name);
    expect(wantedOf([], 11)).toEqual([...times(11, "settle")]);
    expect(wantedOf([], 3)).toEqual([...times(4, "settle")]);
    expect(wantedOf([], 0)).toEqual(["settle", "draws"]);
    // two taps forgotten: what was driven between them is asked, and the runs are not as tapped
    expect(find(log([2, 3]), PADDOCK, [RIG], SETTINGS, clip).tally.questions).not.toEqual([]);
    expect(wantedOf([2, 3], 11)).toEqual([...times(10, "draws")]);
    expect(wantedOf([2, 3], 2)).toEqual([...times(3, "draws")]);
    // and they are taken: others say something else
    const once = find(log(), PADDOCK, [RIG], SETTINGS, clip).tally;
    const other = finding(log(), PADDOCK, [RIG], SETTINGS, clip);
    let step = other.next();
    while (step.done !== true) {
      const { want } = step.value;
      if (want?.for === "settle") step = other.next();
      else if (want?.for === "draws") step = other.next(fetched(errand("draws", { ...(want as Errand<"draws">).takes, draws: 3 })));
      else step = other.next();
    }
    const { tally } = whole(step.value, { twice: [], again_m2: 70 });
    expect(tally.bare_low_ha).not.toBe(once.bare_low_ha);
    expect([tally.again_ha, tally.twice_ha]).toEqual([0.007, 0]);
  });

  it("tells each stage, going on and never back, and can be dropped between any two", () => {
    const said: [string, number][] = [];
    find(log(), PADDOCK, [RIG], AS_LOGGED, clip, ({ stage, part }) => said.push([stage, part]));
    expect([...new Set(said.map(([stage]) => stage))]).toEqual([
      "cleaning",
      "taps",
      "settling",
      "sweeping",
      "patches",
      "draws",
      "how sure",
    ]);
    const parts = said.map(([, part]) => part);
    expect(parts.every((part, i) => i === 0 || part >= (parts[i - 1] ?? 0))).toBe(true);
    expect(parts[parts.length - 1]).toBe(1);
    const days = finding(log(), PADDOCK, [RIG], AS_LOGGED, clip);
    days.next();
    days.next();
    expect(days.return(undefined as never).done).toBe(true);
    expect(days.next().done).toBe(true);
  });

  it("takes a keep-out off, and one of another season not", () => {
    const area = PLANE.areaToDegrees([[Float64Array.of(20, 10, 40, 10, 40, 20, 20, 20)]]);
    const keep = { kind: "dam", area, name: "Dam", hazard: false, from_ms: null, until_ms: null };
    const withDam = { ...PADDOCK, keep_outs: [keep] };
    expect(find(log(), withDam, [RIG], AS_LOGGED, clip).tally.keep_out_ha).toBeCloseTo(0.02, 4);
    const gone = { ...PADDOCK, keep_outs: [{ ...keep, until_ms: 1000 }] };
    const { tally } = find(log(), gone, [RIG], AS_LOGGED, clip);
    expect(tally.keep_out_ha).toBe(0);
  });
});

describe("a day that cannot be computed is refused by name", () => {
  const cut = (from: Log, count: number): Log => ({
    ...from,
    fixes: {
      ...from.fixes,
      t_ms: from.fixes.t_ms.slice(0, count),
      lat_deg: from.fixes.lat_deg.slice(0, count),
      lon_deg: from.fixes.lon_deg.slice(0, count),
      acc_m: from.fixes.acc_m.slice(0, count),
      speed_m_s: from.fixes.speed_m_s.slice(0, count),
      course_deg: from.fixes.course_deg.slice(0, count),
      phone: from.fixes.phone.slice(0, count),
      segment: from.fixes.segment.slice(0, count),
    },
  });
  const computed = (day: Log, paddock: Paddock = PADDOCK) => (): unknown =>
    find(day, paddock, [RIG], AS_LOGGED, clip);

  it("with one fix, or none that can be used", () => {
    expect(code(computed(cut(log(), 1)))).toBe("track-empty");
    const bad = log();
    bad.fixes.acc_m.fill(90);
    expect(code(computed(bad))).toBe("track-unusable");
  });

  it("without a tap", () => {
    expect(code(computed({ ...log(), marks: [] }))).toBe("no-lever");
  });

  it("in another place", () => {
    const far = new Float64Array(PADDOCK.area?.[0]?.[0] ?? []).map((v, i) => v + (i % 2 ? 1 : 0));
    expect(code(computed(log(), { ...PADDOCK, area: [[far]] }))).toBe("track-elsewhere");
  });

  it("with no lap to take the fence from", () => {
    const first = cut(log(), 100);
    expect(code(computed(first, { ...PADDOCK, area: null }))).toBe("lap-open");
    const later = first.marks.map((m) => Object.assign({}, m, { t_ms: m.t_ms + 3_600_000 }));
    const never = { ...cut(log(), 20), marks: later };
    expect(code(computed(never, { ...PADDOCK, area: null }))).toBe("lap-none");
  });

  it("where two phones drove apart at the same time", () => {
    const [one, other] = [log(), log()];
    const both = (a: Float64Array, b: Float64Array): Float64Array =>
      Float64Array.from([...a, ...b]);
    const { fixes } = one;
    const moved = other.fixes.lat_deg.map((lat) => lat + 0.01);
    const n = fixes.t_ms.length;
    const two: Log = {
      ...one,
      fixes: {
        ...fixes,
        t_ms: both(fixes.t_ms, other.fixes.t_ms),
        lat_deg: both(fixes.lat_deg, moved),
        lon_deg: both(fixes.lon_deg, other.fixes.lon_deg),
        acc_m: both(fixes.acc_m, other.fixes.acc_m),
        speed_m_s: both(fixes.speed_m_s, other.fixes.speed_m_s),
        course_deg: both(fixes.course_deg, other.fixes.course_deg),
        phone: Int32Array.from({ length: 2 * n }, (_, i) => (i < n ? 0 : 1)),
        segment: new Int32Array(2 * n),
        phones: ["cab", "rider"],
      },
    };
    expect(code(computed(two))).toBe("two-rigs");
  });

  it("saying in one line what came, where, and what to do", () => {
    const error = new UnsownError("x", "expected a fence", { where: "Home", hint: "Draw one." });
    expect(String(error)).toBe("Home: expected a fence. Draw one.");
    expect(String(new UnsownError("x", "expected a fence"))).toBe("expected a fence");
  });
});
