// Whether it drives straight on: told by the nose over some seconds, because a phone's course wanders.
import { Live } from "../../../web/src/cab/live";
import { Chance } from "../../../web/src/core/chance";
import { Driver, PLANE, T0_MS } from "./drive";
import { RIG } from "./rig";

/** Seconds of steady driving as they are told with each position; courses wander by four degrees. */
function told(driver: Driver): number[] {
  const chance = new Chance(5);
  const live = new Live(PLANE, [RIG], null, T0_MS);
  return driver.fixes.map((fix) => {
    live.fix({ ...fix, course_deg: fix.course_deg + 4 * chance.normal() });
    return live.now().steady_s;
  });
}

describe("a run", () => {
  it("is steady for as long as it goes straight on, though the course wanders", () => {
    const steady = told(new Driver().go(90, 2.1));
    expect(steady[89]).toBeGreaterThan(60);
  });

  it("is not steady in a turn, and is again some seconds after it", () => {
    const steady = told(new Driver().go(60, 2.1).go(25, 2.1, Math.PI / 25).go(60, 2.1));
    expect(Math.max(...steady.slice(64, 85))).toBeLessThan(5);
    expect(steady[144]).toBeGreaterThan(45);
    expect(steady[144]).toBeLessThan(60);
  });

  it("is not steady while it crawls", () => {
    const steady = told(new Driver().go(60, 2.1).go(20, 0.3));
    expect(steady[79]).toBeLessThan(2);
  });
});
