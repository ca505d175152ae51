// Ground that home knew of by phones whose log this one lacks.
import { unseenHa } from "../../../web/src/cab/gate/unseen";

const run = (phone: string, length_m: number) => ({ geometry: { type: "LineString", coordinates: [] }, properties: { state: "run", phone, length_m, width_m: 8 } });
const sown = { geometry: { type: "Polygon", coordinates: [] }, properties: { state: "sown", area_m2: 9000 } };
const ground = { type: "FeatureCollection", features: [run("ours", 1000), sown, run("theirs", 500), run("theirs", 250)] } as const;

it("is the runs of other phones, by their length and width", () => {
  expect(unseenHa({ ground }, ["ours"])).toBeCloseTo(0.6, 9);
  expect(unseenHa({ ground }, [])).toBeCloseTo(1.4, 9);
});

it("is none where their log is here too, or home knew nothing", () => {
  expect(unseenHa({ ground }, ["theirs", "ours"])).toBe(0);
  expect(unseenHa({ ground: null }, ["ours"])).toBe(0);
});
