import { failure } from "../../web/src/desk/call";
import { firstThing } from "../../web/src/desk/board/first";
import type { Board, BoardPaddock } from "../../web/src/desk/nouns";
import { off, reach, scatters } from "../../web/src/desk/phones/scatter";
import { find, match, to, type Route } from "../../web/src/desk/route";
import { createStore } from "../../web/src/desk/store";
import { fromJob } from "../../web/src/desk/time/trial";

const paddock = (name: string, more: Partial<BoardPaddock> = {}): BoardPaddock => ({
  id: name, name, net_ha: 60, state: "sown", sown_ha: 60, bare_ha: 0, bare_low_ha: 0, bare_high_ha: 0, doubt_ha: 0, loose_ends: 0, questions: 0, last_day: "2026-05-14", ...more,
});
const board = (paddocks: BoardPaddock[], more: Partial<Board> = {}): Board => ({ season: 2026, seasons: [2026], paddocks, phones: [], unplaced: { fixes: 0, days: [] }, ...more });

describe("what to do first on the board", () => {
  const loose = paddock("Loose", { state: "loose ends", loose_ends: 3, bare_ha: 0.4, bare_low_ha: 0.3, bare_high_ha: 0.5 });
  const asking = paddock("Asking", { state: "loose ends", questions: 2 });
  const failed = paddock("Failed", { state: "failed" });

  it("what failed comes before what is asked, that before what lies nowhere, that before what is loose", () => {
    const lost = { unplaced: { fixes: 900, days: ["2026-05-13"] } };
    expect(firstThing(board([loose, asking, failed], lost)).href).toBe(to.paddock("Failed", 2026));
    expect(firstThing(board([loose, asking], lost)).href).toBe(to.paddock("Asking", 2026));
    expect(firstThing(board([loose], lost)).href).toBe(to.newPaddock);
    expect(firstThing(board([loose])).text).toBe("Loose: 3 loose ends, 0.40\u00a0ha bare (0.30 to 0.50\u00a0ha).");
  });

  it("of several with loose ends the one with most bare ground comes first", () => {
    const more = paddock("More", { state: "loose ends", loose_ends: 1, bare_ha: 0.9 });
    expect(firstThing(board([loose, more])).href).toBe(to.paddock("More", 2026));
  });

  it("with nothing logged it is a phone, and with a phone a track", () => {
    const fresh = [paddock("Fresh", { state: "not begun", last_day: null })];
    expect(firstThing(board(fresh)).href).toBe(to.phones);
    const phones = [{ dev: "cab", name: "Cab", may: "keeper" as const }];
    expect(firstThing(board(fresh, { phones })).href).toBe(to.carry);
    const withdrawn = [{ dev: "cab", name: "Cab", may: "keeper" as const, withdrawn_ms: 1 }];
    expect(firstThing(board(fresh, { phones: withdrawn })).href).toBe(to.phones);
  });

  it("when nothing is loose it is the newest day's slip", () => {
    expect(firstThing(board([paddock("A"), paddock("B", { last_day: "2026-05-16" })])).href).toBe(to.day("2026-05-16"));
  });
});

describe("addresses", () => {
  const routes: Route[] = ["/desk", "/desk/paddock/:id", "/desk/paddock/:id/shape"].map((pattern) => ({ pattern, load: () => Promise.reject(new Error(pattern)) }));

  it("are found with their parameters, and nothing else is", () => {
    expect(find(routes, "/")?.route.pattern).toBe("/desk");
    expect(find(routes, "/desk/")?.route.pattern).toBe("/desk");
    expect(find(routes, to.shape("a b/c"))?.params).toEqual({ id: "a b/c" });
    expect(find(routes, "/desk/paddock")).toBeNull();
    expect(match("/desk/paddock/:id", "/desk/paddock/%E0%A4%A")).toBeNull();
  });
});

describe("the store", () => {
  it("tells only those who watch what changed, and no more once they stopped", () => {
    const store = createStore({ a: 1, b: 1 });
    const told: number[] = [];
    const end = store.watch(["a"], ({ a }) => told.push(a));
    store.set({ b: 2 });
    store.set({ a: 2 });
    store.set({ a: 2 });
    end();
    store.set({ a: 3 });
    expect(told).toEqual([1, 2]);
    expect(store.get()).toEqual({ a: 3, b: 2 });
  });
});

describe("what the service answers", () => {
  it("an error keeps its own words; one without any keeps its number", () => {
    const error = failure(409, { error: { code: "version-old", message: "A newer one was saved.", where: "", hint: "Look at it." } });
    expect([error.status, error.code, error.message, error.hint]).toEqual([409, "version-old", "A newer one was saved.", "Look at it."]);
    expect(failure(502, null).code).toBe("502");
    expect(failure(500, { error: { message: 7 } }).message).toBe("");
  });

  it("a job runs until both sides are there, and a failed one says why", () => {
    const areas = { sown_ha: 1, bare_ha: 0, doubt_ha: 0, twice_ha: 0 };
    expect(fromJob({ state: "computing", part: 0.4, before: areas, after: null }).state).toBe("running");
    expect(fromJob({ state: "ready", part: 1, before: areas, after: areas }).state).toBe("ready");
    const failed = fromJob({ state: "failed", part: null, before: null, after: null, reason: { message: "No rig.", hint: "Add one." } });
    expect([failed.state, String(failed.error)]).toEqual(["failed", "Error: No rig. Add one."]);
  });
});

describe("peg checks", () => {
  const at = (t_ms: number, north_m: number, east_m: number) => ({ t_ms, dev: "cab", name: "gate", lat_deg: north_m / 111_195, lon_deg: east_m / 111_195 });

  it("are told from the mean of their own peg, each once", () => {
    const [gate] = scatters([at(2, 3, 0), at(1, -3, 0), at(1, -3, 0), { t_ms: 5, dev: "cab", name: "gate" }]);
    expect(gate?.checks.map((c) => [c.t_ms, Math.round(c.north_m * 10) / 10])).toEqual([[1, -3], [2, 3]]);
    expect(off(gate?.checks[0] ?? { t_ms: 0, dev: "", east_m: 0, north_m: 0 })).toBeCloseTo(3, 6);
    expect(reach(gate?.checks ?? [])).toBe(5);
  });
});
