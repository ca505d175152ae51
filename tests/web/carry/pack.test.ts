import { looksLikePack, readPack } from "../../../web/src/carry/pack";

const RING = [[-106.21, 49.73], [-106.2, 49.73], [-106.2, 49.74]];
const RIG = { name: "Bar", kind: "mounted", tool: { width_m: 8 }, phone: { ahead_of_axle_m: 0 }, times: {}, from_ms: null };

const pack = (area: unknown = [[RING, RING.slice(0, 3)]]) => ({
  season: 2025,
  settings: { farm: null, units: "ha", land: "paddock", zone: "UTC", day_start: "04:00", currency: "", prices: {} },
  paddocks: [
    {
      id: "a1", name: "Long Bench", version: 2, net_ha: 12.5,
      land: {
        name: "Long Bench", boundary: "lap", notes: [], area,
        keep_outs: [{ kind: "wet", name: "soak", hazard: true, from_ms: 1, until_ms: null, area: [[RING]] }],
      },
    },
  ],
  rigs: [{ id: "r1", name: "Bar", version: 1, made_ms: 7, chain: [RIG] }],
  ground: { a1: { type: "FeatureCollection", features: [] } },
});
const read = (json: unknown): ReturnType<typeof readPack> => readPack({ fetched_ms: 9, json });

describe("the farm pack", () => {
  it("is read into the engine's own words", () => {
    const found = read(pack());
    expect(found).toMatchObject({ fetched_ms: 9, season: 2025, settings: { units: "ha", land: "paddock" } });
    const paddock = found.paddocks[0];
    expect(Array.from(paddock?.land.area?.[0]?.[0] ?? [])).toEqual([-106.21, 49.73, -106.2, 49.73, -106.2, 49.74]);
    expect(paddock?.land.area?.[0]?.length).toBe(2);
    expect(paddock?.land.keep_outs[0]).toMatchObject({ kind: "wet", hazard: true, from_ms: 1, until_ms: null });
    expect(paddock?.ground?.features).toEqual([]);
    expect(found.rigs[0]?.chain).toEqual([RIG]);
  });

  it("a paddock on which nothing was computed yet has no ground", () => {
    expect(read({ ...pack(), ground: {} }).paddocks[0]?.ground).toBeNull();
  });

  const spoilt: [string, (made: ReturnType<typeof pack>) => unknown][] = [
    ["the pack", () => []],
    ["settings", (made) => ({ ...made, settings: null })],
    ["settings.units", (made) => ({ ...made, settings: { ...made.settings, units: "roods" } })],
    ["paddocks.0.land.area.0.0", () => pack([[RING.slice(1)]])],
    ["paddocks.0.land.area.0.0.1.1", () => pack([[[[1, 2], [1, "49"], [2, 2]]]])],
    ["paddocks.0.land.area", () => pack(null)],
    ["paddocks.0.land", (made) => ({ ...made, paddocks: [{ ...made.paddocks[0], land: undefined }] })],
    ["rigs.0.chain", (made) => ({ ...made, rigs: [{ ...made.rigs[0], chain: [] }] })],
    ["rigs.0.chain.0.tool.width_m", (made) => ({ ...made, rigs: [{ ...made.rigs[0], chain: [{ ...RIG, tool: { width_m: 0 } }] }] })],
    ["ground.a1.features", (made) => ({ ...made, ground: { a1: {} } })],
  ];
  it.each(spoilt)("that is wrong at %s says so", (where, spoil) => {
    expect(() => read(spoil(pack()))).toThrow(expect.objectContaining({ code: "pack-bad", where }));
  });

  it("is told from a log by its own keys", () => {
    expect(looksLikePack(pack())).toBe(true);
    for (const other of [null, 1, "x", [], { paddocks: [] }]) expect(looksLikePack(other)).toBe(false);
  });
});
