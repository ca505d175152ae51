import { FixClock, PhoneSource, ReplaySource } from "../../../web/src/cab/source";
import type { Fix } from "../../../web/src/cab/live";
import { Driver, T0_MS } from "./drive";

const settle = (): Promise<void> => new Promise((resolve) => setTimeout(resolve, 120));

describe("where positions come from", () => {
  it("takes a single error for no fix yet, and a refusal for a refusal", () => {
    let [ok, bad]: [PositionCallback | null, PositionErrorCallback | null] = [null, null];
    const geo = {
      watchPosition: (success: PositionCallback, error: PositionErrorCallback) => {
        [ok, bad] = [success, error];
        return 1;
      },
      clearWatch: () => undefined,
    } as unknown as Geolocation;
    const [fixes, troubles]: [Fix[], string[]] = [[], []];
    new PhoneSource(geo).start((fix) => void fixes.push(fix), (trouble) => void troubles.push(trouble));
    const fail = bad as unknown as (error: { code: number }) => void;
    const give = ok as unknown as (position: unknown) => void;
    fail({ code: 2 });
    fail({ code: 3 });
    expect(troubles).toEqual([]);
    give({ coords: { latitude: 49, longitude: -106, accuracy: 4, speed: null, heading: Number.NaN }, timestamp: 5 });
    give({ coords: { latitude: 49, longitude: -106, accuracy: 4, speed: null, heading: null }, timestamp: 5 });
    expect(fixes).toHaveLength(1);
    expect([fixes[0]?.speed_m_s, fixes[0]?.course_deg]).toEqual([Number.NaN, Number.NaN]);
    fail({ code: 1 });
    expect(troubles).toEqual(["denied"]);
  });

  it("puts the lever on the clock of the fixes where the two differ", () => {
    const clock = new FixClock(() => 1_000_000);
    clock.see(999_400);
    expect(clock.now()).toBe(1_000_000);
    clock.see(1_000_000 - 3_600_000);
    expect(clock.now()).toBe(1_000_000 - 3_600_000);
  });

  it("gives a recorded track at its speed, and nothing that lies before now", async () => {
    const track = new Driver().go(400, 2).fixes;
    const begun = Date.now() - 4000;
    const source = new ReplaySource(track, 50, begun);
    const got: Fix[] = [];
    source.start((fix) => void got.push(fix), () => undefined);
    await settle();
    source.stop();
    expect(got.length).toBeGreaterThan(2);
    // four seconds at fifty times the speed, less the last one
    expect((got[0]?.t_ms ?? 0) - T0_MS).toBeGreaterThan(145_000);
    expect((got[0]?.t_ms ?? 0) - T0_MS).toBeLessThan(175_000);
    expect(got.every((fix, i) => i === 0 || fix.t_ms > (got[i - 1]?.t_ms ?? 0))).toBe(true);
  });
});
