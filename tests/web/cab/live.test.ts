import { Live, type Happened } from "../../../web/src/cab/live";
import { Chance } from "../../../web/src/core/chance";
import { Driver, PLANE, T0_MS } from "./drive";
import { RIG } from "./rig";

const FENCE = { rings: [Float64Array.from([-60, -60, 260, -60, 260, 60, -60, 60])], surveyed: true, before: [] };

interface Tap {
  t_s: number;
  down: boolean;
}

function drive(driver: Driver, taps: readonly Tap[], live = new Live(PLANE, [RIG], null, T0_MS)): { live: Live; happened: Happened[] } {
  const left = taps.slice();
  const happened = driver.fixes.map((fix) => {
    while (left[0] !== undefined && T0_MS + left[0].t_s * 1000 <= fix.t_ms) {
      live.lever(left[0].down, T0_MS + left[0].t_s * 1000);
      left.shift();
    }
    return live.fix(fix);
  });
  return { live, happened };
}

describe("the live picture", () => {
  it("sows from where the front rank was when all rows had seed to where the rear rank was at lifting", () => {
    // 100 s at 2 m/s: seed from every opener 5.9 s after lowering, and until 0.6 s after lifting; the
    // strip is shorter by the 2.4 m between the ranks (job paper 3.6)
    // aslant to the cells, so that no row of them is in or out along its whole length
    const { live } = drive(new Driver(0, 0, 0.3).go(160, 2), [{ t_s: 30, down: true }, { t_s: 130, down: false }]);
    const length = 2 * (100 - 5.9 + 0.6) - 2.4;
    expect(Math.abs(((live.now().sown_ha ?? 0) * 1e4) / 8.4 - length)).toBeLessThan(1);
  });

  it("adds nothing while the phone stands and its picture wanders seven metres", () => {
    const wander = (k: number): readonly [number, number] => [3.5 * Math.sin(k / 200), 3.5 - 3.5 * Math.cos(k / 270)];
    const { live } = drive(new Driver().go(60, 2).stand(2700, wander), [{ t_s: 10, down: true }]);
    const before = drive(new Driver().go(60, 2), [{ t_s: 10, down: true }]).live.now().sown_ha ?? 0;
    expect(Math.abs((live.now().sown_ha ?? 0) - before)).toBeLessThan(0.002);
    expect(live.now().standing).toBe(true);
    expect(live.now().stood_s).toBeGreaterThan(2600);
  });

  it("goes by its positions where the phone says nought while it drives, and by the phone where it says so again", () => {
    const told = new Driver().stand(30).go(240, 2);
    const silent = Object.assign(new Driver(), { fixes: told.fixes.map((fix) => ({ ...fix, speed_m_s: 0 })) });
    const taps = [{ t_s: 80, down: true }, { t_s: 230, down: false }];
    const [a, b] = [told, silent].map((driver) => drive(driver, taps).live.now());
    expect(b?.standing).toBe(false);
    expect(b?.speed_m_s).toBeCloseTo(2, 1);
    expect(Math.abs((b?.sown_ha ?? 0) - (a?.sown_ha ?? 1)) * 1e4).toBeLessThan(10);
  });

  it("follows a phone whose every position is metres off", () => {
    const chance = new Chance(11);
    const driver = new Driver(0, 0, 0.3, () => 2.5 * chance.normal()).go(300, 2);
    const live = new Live(PLANE, [RIG], null, T0_MS);
    const off = driver.fixes.map((fix, k) => {
      live.fix(fix);
      return Math.hypot(live.now().x_m - 2 * (k + 1) * Math.cos(0.3), live.now().y_m - 2 * (k + 1) * Math.sin(0.3));
    });
    // once it has learned how large the noise is, the way is far better than any position
    const late = off.slice(60);
    expect(Math.sqrt(late.reduce((sum, each) => sum + each ** 2, 0) / late.length)).toBeLessThan(1);
  });

  it("keeps the tool within a metre of where it is through a quarter turn of nine metres, with noise", () => {
    // job paper 6, situation 1: 0.79 m in all (95 %) where the quick noise is 0.4 m
    const chance = new Chance(7);
    const noisy = new Driver(0, 0, 0, () => 0.4 * chance.normal()).go(40, 2).go(7, 2, 2 / 9);
    const calm = new Driver().go(40, 2).go(7, 2, 2 / 9);
    const off = [noisy, calm].map((driver) => drive(driver, []).live.now().stance?.tool);
    const [a, b] = off;
    expect(Math.sqrt(((a?.x_m ?? 9) - (b?.x_m ?? 0)) ** 2 + ((a?.y_m ?? 9) - (b?.y_m ?? 0)) ** 2)).toBeLessThan(1);
  });

  it("tells of tines dragged sideways in a tight turn with the points in, and not with them out", () => {
    const turn = (): Driver => new Driver().go(40, 2).go(7, 2, 2 / 9).go(20, 2);
    const within = drive(turn(), [{ t_s: 5, down: true }]).happened;
    expect(within.filter(({ strain }) => strain.begun)).toHaveLength(1);
    const over = within.map(({ strain }) => strain.over).filter((each) => each !== null);
    expect(over).toHaveLength(1);
    expect(over[0]?.side).toBe("left");
    expect(over[0]?.peak_deg).toBeGreaterThan(18);
    expect(over[0]?.peak_deg).toBeLessThan(26);
    const lifted = drive(turn(), [{ t_s: 5, down: true }, { t_s: 35, down: false }]).happened;
    expect(lifted.some(({ strain }) => strain.begun)).toBe(false);
  });

  it("finds the fence ahead of a tool that sows, and the fresh ground ahead of a lifted one", () => {
    const live = new Live(PLANE, [RIG], FENCE, T0_MS);
    drive(new Driver(-50, 0).go(145, 2), [{ t_s: 2, down: true }], live);
    const ahead = live.now().edge;
    expect(ahead?.what).toBe("fence");
    expect(ahead?.past_m).toBeCloseTo(-(260 - 240), -0.5);
    const from = new Live(PLANE, [RIG], FENCE, T0_MS);
    drive(new Driver(-110, 0).go(20, 2), [], from);
    expect(from.now().edge?.what).toBe("fresh");
    expect(from.now().edge?.past_m).toBeCloseTo(-10, -0.5);
  });

  it("does not know an edge that the phone is past when it backs or stands", () => {
    const live = new Live(PLANE, [RIG], FENCE, T0_MS);
    drive(new Driver(-50, 0).go(145, 2).stand(10), [{ t_s: 2, down: true }], live);
    expect(live.now().edge).toBeNull();
  });

  it("does not ring on ground that another phone has sown, of which home knew", () => {
    const two = (): Driver => new Driver().go(200, 2).go(14, 2, Math.PI / 14).go(120, 2);
    const taps = [{ t_s: 5, down: true }, { t_s: 205, down: false }];
    const rings = (before: readonly Float64Array[]): unknown[] => {
      const fence = { rings: [Float64Array.from([-60, -90, 560, -90, 560, 90, -60, 90])], surveyed: true, before };
      return drive(two(), taps, new Live(PLANE, [RIG], fence, T0_MS)).happened.map(({ doubt }) => doubt?.what).filter(Boolean);
    };
    expect(rings([])).toEqual(["sowing"]);
    expect(rings([Float64Array.from([-60, 5, 560, 5, 560, 60, -60, 60])])).toEqual([]);
  });

  it("calls no run steady before it has been seen to be one, nor after a hole", () => {
    const live = new Live(PLANE, [RIG], null, T0_MS);
    const steady = new Driver().go(30, 2).fixes.map((fix) => {
      live.fix(fix);
      return live.now().steady_s;
    });
    expect(steady[1]).toBeLessThan(2);
    expect(steady[29]).toBeCloseTo(29, 0);
    const [after] = new Driver(160, 0).go(1, 2).fixes;
    if (after !== undefined) live.fix({ ...after, t_ms: after.t_ms + 80_000 });
    expect(live.now().steady_s).toBe(0);
  });

  it("sows nothing on the way back out of a bog", () => {
    const out = (): Driver => {
      const driver = new Driver().go(40, 2).stand(8);
      driver.heading += Math.PI;
      driver.go(10, 1);
      driver.heading -= Math.PI;
      return driver.stand(8);
    };
    const stood = drive(new Driver().go(40, 2).stand(8), [{ t_s: 5, down: true }]).live.now().sown_ha ?? 0;
    const backed = drive(out(), [{ t_s: 5, down: true }]).live.now().sown_ha ?? 0;
    expect(Math.abs(backed - stood)).toBeLessThan(0.0015);
  });

  it("does not sow across a hole in the positions, and goes on after it", () => {
    const driver = new Driver().go(60, 2);
    driver.x += 200;
    driver.t_s += 160;
    driver.go(60, 2);
    const { live } = drive(driver, [{ t_s: 10, down: true }]);
    const whole = (2 * (50 - 5.9) - 2.4 + 2 * 58) * 8.4;
    expect(Math.abs((live.now().sown_ha ?? 0) * 1e4 - whole)).toBeLessThan(60);
  });

  it("puts what was sown before seed stopped in doubt, and sows no more", () => {
    const live = new Live(PLANE, [RIG], null, T0_MS);
    const first = new Driver().go(60, 2);
    drive(first, [{ t_s: 5, down: true }], live);
    const before = live.now().sown_ha ?? 0;
    live.flow(false, T0_MS + 60_000, null);
    const rest = new Driver(120, 0).go(60, 2);
    for (const fix of rest.fixes) live.fix({ ...fix, t_ms: fix.t_ms + 60_000 });
    expect(live.now().sown_ha).toBeCloseTo(before, 2);
    expect(live.doubt.covered * 0.25).toBeGreaterThan(80 * 8.4);
    expect(live.now().flowing).toBe(false);
  });

  it("rings once when a run is driven like sowing with the lever up, and not while it is down", () => {
    const two = (): Driver => new Driver().go(200, 2).go(14, 2, Math.PI / 14).go(120, 2);
    const up = { t_s: 205, down: false };
    const forgot = drive(two(), [{ t_s: 5, down: true }, up]).happened.map(({ doubt }) => doubt?.what).filter(Boolean);
    expect(forgot).toEqual(["sowing"]);
    const done = drive(two(), [{ t_s: 5, down: true }, up, { t_s: 216, down: true }]).happened;
    expect(done.some(({ doubt }) => doubt !== null)).toBe(false);
  });

  it("begins the hectares anew after a night, and keeps the ground", () => {
    const live = new Live(PLANE, [RIG], null, T0_MS);
    drive(new Driver().go(60, 2), [{ t_s: 5, down: true }], live);
    live.lever(false, T0_MS + 61_000);
    const covered = live.grid.covered;
    for (const fix of new Driver(0, 40).go(30, 2).fixes) live.fix({ ...fix, t_ms: fix.t_ms + 10 * 3_600_000 });
    expect(live.now().sown_ha).toBe(0);
    expect(live.grid.covered).toBe(covered);
  });
});
