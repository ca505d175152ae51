import { driving } from "../../../web/src/cab/work/driving";
import type { Fix } from "../../../web/src/cab/live";
import { Driver, T0_MS } from "./drive";
import { drove, over, rigged, settle } from "./rigged";

/** Every tile of the live picture and how often each of its cells was passed over. */
function painted(): { place: string; passes: string }[] {
  const tiles = [...(driving.get().live?.grid.all() ?? [])];
  return tiles.map(({ column, row, passes }) => ({ place: `${column} ${row}`, passes: Buffer.from(passes).toString("base64") }));
}

describe("the drive", () => {
  afterEach(over);

  it("shows the same ground when it is begun again from its log", async () => {
    const first = rigged();
    // with a turn, a rest and a second run over a part of the first
    const driver = new Driver(0, 0, 0.3).go(90, 2).go(20, 2, Math.PI / 20).stand(30).go(90, 2);
    await drove(first, driver.fixes, [20, 85, 112, 225]);
    const [before, ground] = [driving.get().now, painted()];
    first.drive.end();
    expect(before?.sown_ha).toBeGreaterThan(0.1);
    driving.set({ live: null, now: null });
    const again = rigged(first.log);
    again.source.t_ms = T0_MS + 230_000;
    await again.drive.begin();
    expect(driving.get().now).toEqual(before);
    expect(painted()).toEqual(ground);
    expect(again.told.lever).toBe("up");
    again.drive.end();
  });

  it("comes back with the tool down where the log left it down, and the next tap lifts it", async () => {
    const first = rigged();
    await drove(first, new Driver().go(60, 2).fixes, [20]);
    first.drive.end();
    const again = rigged(first.log);
    again.source.t_ms = T0_MS + 60_000;
    await again.drive.begin();
    expect(again.told.lever).toBe("down");
    again.drive.tap("button");
    expect(again.log.rows[again.log.rows.length - 1]).toMatchObject({ kind: "lever", lever: "up", how: "button" });
    again.drive.end();
  });

  it("takes the lever up from the log though positions come while its ground is painted", async () => {
    const first = rigged();
    await drove(first, new Driver().go(900, 2).fixes, [20]);
    first.drive.end();
    const again = rigged(first.log);
    again.source.t_ms = T0_MS + 900_000;
    const begun = again.drive.begin();
    expect(again.drive.tap("pad")).toBe(false);
    again.source.give({ ...(new Driver(1800, 0).go(2, 2).fixes[0] as Fix), t_ms: T0_MS + 901_000 });
    await begun;
    expect(again.told.lever).toBe("down");
    expect(driving.get().now?.down).toBe(true);
    again.drive.end();
  });

  it("takes a second touch for the first while the cab shakes", () => {
    const { drive, log, at } = rigged();
    expect(drive.tap("pad")).toBe(true);
    at.ms += 699;
    expect(drive.tap("pad")).toBe(false);
    at.ms += 1;
    expect(drive.tap("pad")).toBe(true);
    expect(log.rows.map((row) => row.kind === "lever" && row.lever)).toEqual(["down", "up"]);
  });

  it("sounds when an entry cannot be written, and keeps the rim hollow", async () => {
    const made = rigged();
    made.log.failing = true;
    made.drive.tap("pad");
    await settle();
    expect(made.played).toEqual(["down", "failed"]);
    expect(driving.get().unstored).toBe(1);
    expect(made.told.lever).toBe("down");
  });

  it("takes a lever entry back from before the page was loaded", async () => {
    const first = rigged();
    await drove(first, new Driver().go(60, 2).fixes, [20]);
    first.drive.end();
    const again = rigged(first.log);
    again.source.t_ms = T0_MS + 60_000;
    await again.drive.begin();
    expect(again.drive.oops()).toBe(true);
    await settle();
    const lever = again.log.rows.findIndex(({ kind }) => kind === "lever") + 1;
    expect(again.log.rows[again.log.rows.length - 1]).toMatchObject({ kind: "undo", of: lever });
    expect(driving.get().now?.sown_ha).toBe(0);
    expect(again.told.lever).toBe("up");
    again.drive.end();
  });

  it("writes an event for each corner in which tines were dragged", async () => {
    const made = rigged();
    await drove(made, new Driver().go(40, 2).go(7, 2, 2 / 9).go(30, 2).fixes, [5]);
    expect(made.played.filter((sign) => sign === "strain")).toHaveLength(1);
    expect(made.log.rows.filter((row) => row.kind === "mark")).toMatchObject([{ what: "strain", side: "left" }]);
    made.drive.end();
  });
});
