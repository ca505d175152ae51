// Hard situations on the phone while driving: what the pad, the picture and the log do. The day counted
// afterwards is held to them in tests/web/test_situations.py.
import { driving } from "../../../web/src/cab/work/driving";
import type { Fix } from "../../../web/src/cab/live";
import { Driver, T0_MS } from "./drive";
import { drove, over, rigged, settle, type Rigged } from "./rigged";

const TURN = Math.PI / 14;
const levers = ({ log }: Rigged): unknown[] => log.rows.flatMap((row) => (row.kind === "lever" ? [row.lever] : []));
const m2 = (): number => (driving.get().now?.sown_ha ?? 0) * 1e4;
/** The drive from the fixes of another, `later_s` seconds on. */
const later = (fixes: readonly Fix[], later_s: number): Fix[] => fixes.map((fix) => ({ ...fix, t_ms: fix.t_ms + 1000 * later_s }));
const give = (phone: Rigged, fixes: readonly Fix[]): void => {
  for (const fix of fixes) {
    phone.at.ms += 1000;
    phone.source.give(fix);
  }
};

afterEach(over);

describe("situation 2: the lever down forgotten for a whole run", () => {
  it("rings within 30 s, changes nothing by itself, and writes down since when", async () => {
    const phone = rigged();
    const driver = new Driver().go(310, 2).go(14, 2, TURN);
    const run_ms = T0_MS + 1000 * driver.t_s;
    await drove(phone, driver.go(310, 2).fixes, [5, 312]);
    expect(phone.played.filter((sign) => sign === "forgot")).toHaveLength(1);
    const said = phone.log.rows.find((row) => row.kind === "say");
    expect(said?.t_ms).toBeLessThanOrEqual(run_ms + 30_000);
    expect(said).toMatchObject({ prompt: "Down since the edge?", to_ms: said?.t_ms });
    expect(levers(phone)).toEqual(["down", "up"]);
    expect(phone.told.lever).toBe("up");
    expect(driving.get().doubt).toBe("sowing");
    phone.drive.end();
  });

  it("takes one press of the pad as down from now on", async () => {
    const phone = rigged();
    await drove(phone, new Driver().go(310, 2).go(14, 2, TURN).go(60, 2).fixes, [5, 312]);
    const before = m2();
    phone.at.ms += 1000;
    phone.drive.tap("pad");
    expect(driving.get().doubt).toBeNull();
    give(phone, later(new Driver(-2 * 46, 0).go(20, 2).fixes, 384));
    await settle();
    expect(levers(phone)).toEqual(["down", "up", "down"]);
    expect(m2()).toBeGreaterThanOrEqual(before);
    phone.drive.end();
  });
});

describe("situation 3: the taps run out of phase", () => {
  it("rings, and never swaps what was tapped", async () => {
    const phone = rigged();
    const driver = new Driver();
    for (let run = 0; run < 4; run++) driver.go(150, 2).go(14, 2, run % 2 === 0 ? TURN : -TURN);
    // up was forgotten after the first run: from then on each press says the opposite
    await drove(phone, driver.fixes, [5, 166, 314, 330, 478, 494]);
    expect(levers(phone)).toEqual(["down", "up", "down", "up", "down", "up"]);
    expect(phone.played.filter((sign) => sign === "forgot").length).toBeGreaterThan(0);
    expect(phone.log.rows.filter((row) => row.kind === "undo" || row.kind === "blind")).toEqual([]);
    phone.drive.end();
  });
});

describe("situation 4: a call of 2 min 40 s covers the page", () => {
  it("keeps the state, sows nothing across the hole, and says that it is back", async () => {
    const phone = rigged();
    await drove(phone, new Driver().go(120, 2.083).fixes, [5]);
    const before = m2();
    phone.at.ms += 160_000;
    phone.drive.shown();
    expect(driving.get().silent).toBe(true);
    expect(phone.played.filter((sign) => sign === "back" || sign === "lost")).toEqual(["back", "lost"]);
    give(phone, later(new Driver(280 * 2.083, 0).go(60, 2.083).fixes, 280));
    await settle();
    expect(driving.get().silent).toBe(false);
    expect(phone.told.lever).toBe("down");
    expect(driving.get().now?.down).toBe(true);
    const more = m2() - before;
    expect(more).toBeGreaterThan(50 * 2.083 * 8.4);
    expect(more).toBeLessThan(62 * 2.083 * 8.4);
    phone.drive.end();
  });
});

describe("situation 5: 45 minutes at the truck", () => {
  it("adds no ground while the picture wanders seven metres, and says that it stands", async () => {
    const phone = rigged();
    const driver = new Driver().go(100, 2);
    await drove(phone, driver.fixes, [5]);
    const before = m2();
    const wander = (k: number): readonly [number, number] => [3.5 * Math.sin(k / 200), 3.5 - 3.5 * Math.cos(k / 270)];
    const whole = driver.fixes.length;
    give(phone, driver.stand(2700, wander).fixes.slice(whole));
    expect(phone.told.standing).toBe(true);
    expect(Math.abs(m2() - before)).toBeLessThan(20);
    phone.drive.end();
  });
});

describe("situation 6: the phone is carried to the tool and back, the lever down", () => {
  const walk = (driver: Driver): Driver => {
    // out of the cab to the left, round the tool behind it, and back from the right
    for (const [x, y] of [[-2, 3], [-8, 5], [-12, 4], [-14, 0], [-12, -4], [-8, -5], [-6, -3], [0, 0]] as const) {
      const [fx, fy] = [driver.x, driver.y];
      const [dx, dy] = [200 + x - fx, y - fy];
      const seconds = Math.max(Math.round(Math.hypot(dx, dy) / 1.2), 1);
      driver.heading = Math.atan2(dy, dx);
      driver.go(seconds, Math.hypot(dx, dy) / seconds);
    }
    driver.heading = 0;
    return driver;
  };

  it("makes no strip, and the openers go on from where they stood", async () => {
    const drive = (on: (driver: Driver) => Driver): Driver => on(new Driver().go(100, 2).stand(30)).stand(30).go(60, 2);
    const phone = rigged();
    await drove(phone, drive(walk).fixes, [5]);
    const [walked, tool] = [m2(), driving.get().now?.stance?.tool];
    phone.drive.end();
    over();
    const other = rigged();
    await drove(other, drive((driver) => driver.stand(40)).fixes, [5]);
    expect(Math.abs(walked - m2())).toBeLessThan(25);
    expect(driving.get().live?.grid.twice ?? 0).toBeLessThan(40);
    const there = driving.get().now?.stance?.tool;
    expect(Math.hypot((tool?.x_m ?? 9) - (there?.x_m ?? 0), (tool?.y_m ?? 9) - (there?.y_m ?? 0))).toBeLessThan(0.5);
    other.drive.end();
  });
});

describe("situation 8: the blower's belt is off before the alarm is heard", () => {
  it("stops sowing at once, leaves what went before in doubt, and goes on with the next press", async () => {
    const phone = rigged();
    const driver = new Driver().go(300, 2);
    await drove(phone, driver.fixes, [5]);
    const before = m2();
    phone.at.ms += 1000;
    phone.drive.flow();
    const whole = driver.fixes.length;
    give(phone, driver.go(40, 2).fixes.slice(whole));
    expect(Math.abs(m2() - before)).toBeLessThan(45);
    const doubt = (driving.get().live?.doubt.covered ?? 0) / 4;
    expect(doubt).toBeGreaterThan(140 * 8.4);
    expect(doubt).toBeLessThan(160 * 8.4);
    phone.at.ms += 1000;
    phone.drive.flow();
    give(phone, driver.go(60, 2).fixes.slice(whole + 40));
    await settle();
    expect(m2() - before).toBeGreaterThan(45 * 2 * 8.4);
    expect(phone.log.rows.flatMap((row) => (row.kind === "flow" ? [row.flow] : []))).toEqual(["off", "on"]);
    phone.drive.end();
  });
});

describe("situation 15: an old phone slows to one position in six seconds", () => {
  it("says so, and counts straights within one percent", async () => {
    const phone = rigged();
    // aslant to the cells, so that no row of them is in or out along its whole length
    const seldom = new Driver(0, 0, 0.3).go(420, 2).fixes.filter((_, i) => i % 6 === 0);
    void phone.drive.begin();
    for (const [i, fix] of seldom.entries()) {
      phone.at.ms += 6000;
      phone.source.give(fix);
      if (i === 2) await settle();
      if (i === 4) phone.drive.tap("pad");
    }
    expect(driving.get().seldom).toBe(true);
    // seed from 5.9 s after the tap at 24 s, to the rear rank 2.4 m behind at the last position
    const sown = (seldom.length - 1) * 6 - 24 - 5.9;
    expect(m2() / ((2 * sown - 2.4) * 8.4)).toBeCloseTo(1, 1.7);
    phone.drive.end();
  });

  it("does not guess a corner between two positions", async () => {
    const phone = rigged();
    const driver = new Driver().go(120, 2).go(14, 2, TURN).go(120, 2);
    const fixes = driver.fixes.filter((_, i) => i % 6 === 0);
    void phone.drive.begin();
    for (const [i, fix] of fixes.entries()) {
      phone.at.ms += 6000;
      phone.source.give(fix);
      if (i === 2) await settle();
      if (i === 3) phone.drive.tap("pad");
    }
    expect(m2()).toBeLessThan(240 * 2 * 8.4);
    expect(driving.get().live?.grid.twice ?? 0).toBeLessThan(100);
    expect(driving.get().now?.known).toBe(true);
    phone.drive.end();
  });
});

describe("situation 16: the battery dies, and the phone starts again elsewhere", () => {
  it("keeps all that was written, sows nothing between, and says how it was left", async () => {
    const first = rigged();
    await drove(first, new Driver().go(200, 2).fixes, [5]);
    const before = m2();
    first.drive.end();
    over();
    const again = rigged(first.log);
    again.source.t_ms = T0_MS + 2_600_000;
    await again.drive.begin();
    expect(again.told.lever).toBe("down");
    expect(driving.get().left_ms).toBe(T0_MS + 200_000);
    give(again, later(new Driver(150, 80, 1).go(40, 2).fixes, 2600));
    await settle();
    // the state holds, as the pad shows; the hole itself is nobody's ground
    expect(m2() - before).toBeLessThan(41 * 2 * 8.4);
    again.at.ms += 1000;
    again.drive.tap("pad");
    expect(driving.get().left_ms).toBeNull();
    expect(levers(again)).toEqual(["down", "up"]);
    again.drive.end();
    expect(driving.get().left_ms).toBeNull();
  });

  it("says nothing of how it was left after a moment's reload", async () => {
    const first = rigged();
    await drove(first, new Driver().go(100, 2).fixes, [5]);
    first.drive.end();
    const again = rigged(first.log);
    again.source.t_ms = T0_MS + 104_000;
    await again.drive.begin();
    expect(driving.get().left_ms).toBeNull();
    again.drive.end();
  });
});

describe("situation 17: backing ten metres out of a bog, jack-knifed, and on again", () => {
  it("sows nothing backwards, and no more than the two ways forward", async () => {
    const phone = rigged();
    const driver = new Driver().go(100, 2).stand(10);
    driver.heading += Math.PI;
    driver.go(10, 1, -0.06);
    driver.heading -= Math.PI;
    driver.stand(10).go(80, 2);
    await drove(phone, driver.fixes, [5]);
    const most = (2 * (100 - 5.9 + 80) - 2.4) * 8.4;
    expect(m2()).toBeLessThan(most);
    expect(m2()).toBeGreaterThan(most - 30 * 8.4);
    phone.drive.end();
  });
});
