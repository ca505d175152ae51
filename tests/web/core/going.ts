// What comes after the day, asked by the vectors: going back, product and time.
import { type Some, fieldOf } from "../../../web/src/core/aim";
import type { Clip } from "../../../web/src/core/clip";
import { dubins, posesOf } from "../../../web/src/core/dubins";
import { type Costs, order, totalOf } from "../../../web/src/core/order";
import { callOf } from "../../../web/src/core/bare";
import { hanging, mayClose } from "../../../web/src/core/hangs";
import { bareHa } from "../../../web/src/core/price";
import { polygonArea } from "../../../web/src/core/rings";
import { worth } from "../../../web/src/core/worth";
import type { Patch, Polygon, Ring } from "../../../web/src/core/words";

// oxlint-disable-next-line typescript/no-explicit-any
type Json = any;

const ring = (points: readonly (readonly number[])[]): Ring => Float64Array.from(points.reduce<number[]>((all, point) => all.concat(point), []));

/** Within a part of what is wanted, or so much. */
function close(got: number, want: number, part: number, least = 0): void {
  expect(Math.abs(got - want), `${got} for ${want}`).toBeLessThanOrEqual(Math.max(part * Math.abs(want), least) + 1e-12);
}

export function turning(given: Json, want: Json, tolerance: Json): void {
  const way = dubins(given.start, given.end, given.radius_m);
  close(way.length_m, want.length_m, 0, tolerance.metres);
  const [x, y] = posesOf(way, 0.1).slice(-3);
  expect(Math.hypot((x ?? NaN) - given.end[0], (y ?? NaN) - given.end[1])).toBeLessThan(1e-6);
  if (want.word !== undefined) expect(way.word).toBe(want.word);
}

export function ordering(given: Json, want: Json, tolerance: Json): void {
  const flat = (rows: number[][]): Float64Array => Float64Array.from(rows.reduce((all, row) => all.concat(row), []));
  const [start, home, own] = [given.start, given.home, given.own].map((values: number[]) => Float64Array.from(values));
  const costs = { start, between: flat(given.between), home, own, direct: given.direct } as Costs;
  const nodes = order(costs, given.exact);
  close(totalOf(costs, nodes), want.total, 0, tolerance.metres);
  expect(nodes.map((node) => node >> 1).toSorted((a, b) => a - b)).toEqual(Array.from({ length: given.start.length / 2 }, (_, i) => i));
  if (want.nodes !== undefined) expect(nodes).toEqual(want.nodes);
}

export function asking(given: Json, want: Json): void {
  const rings = (all: number[][][]): Ring[] => all.map(ring);
  const patches = given.patches.map((said: Json, k: number): Patch => {
    const outline: Polygon = [ring(said.ring)];
    const made: Pick<Patch, "number" | "outline" | "area_m2" | "chance" | "call"> = { number: k + 1, outline, area_m2: polygonArea(outline), chance: said.chance, call: callOf(said.chance) };
    return made as Patch;
  });
  const runs = given.runs.map(({ on_s, off_s, outfit }: Json) => ({ on_s, off_s, outfit }));
  const questions = given.questions.map(({ from_ms, to_ms, phone }: Json, k: number) => ({ number: k + 1, from_ms, to_ms, ...(phone === "" ? {} : { phones: [phone] }) }));
  const legs = Object.keys(given.outfits).map((phone) => ({ phone, outfit: given.outfits[phone] as number }));
  const strips = given.runs.map(({ doubt }: Json) => ({ doubt: rings(doubt) }));
  const found = hanging(patches, rings(given.doubt).map((one): Polygon => [one]), strips, runs, questions, given.t0_ms, legs);
  expect(found.map(({ asks }) => asks)).toEqual(want.asks);
  close(mayClose(found), want.may_close, 1e-9);
}

export function repaying(given: Json, want: Json, tolerance: Json, clip: Clip): void {
  const r = given.reach;
  const patches = given.patches.map((said: Json, k: number): Some => {
    const outline: Polygon = [ring(said.ring)];
    return { number: k + 1, outline, area_m2: polygonArea(outline), chance: said.chance, asks: said.asks };
  }) as Some[];
  const bare = clip.polygons(clip.union(patches.map(({ outline }) => outline[0] ?? ring([]))));
  const outs = given.keep_outs.map((points: number[][]): Polygon => [ring(points)]);
  const field = fieldOf(clip, [[ring(given.boundary)]], outs, bare, r);
  close(bareHa(given.prices), want.bare_ha, 0, tolerance.money);
  const w = worth(patches, given.headings_rad, field, r, given.prices, given.here, clip);
  const told = w.groups.map((g) => ({ patches: g.patches, label: g.label, runs: g.runs.length }));
  expect(told).toEqual(want.groups.map((g: Json) => ({ patches: g.patches, label: g.label, runs: g.runs })));
  w.groups.forEach((got, i) => {
    const wanted = want.groups[i];
    for (const key of ["value", "cost"] as const) close(got[key], wanted[key], tolerance.part, tolerance.money);
    for (const key of ["seconds", "twice_m2", "left_m2"] as const) close(got[key], wanted[key], tolerance.part, 0.1);
  });
  expect(w.stops.map(({ group }) => group)).toEqual(want.stops.map((stop: Json) => stop.group));
  w.stops.forEach(({ run }, i) => {
    const ends = [...want.stops[i].start, ...want.stops[i].end];
    [...run.start, ...run.end].forEach((value, k) => close(value, ends[k], 0, tolerance.metres));
  });
  close(w.route.length_m, want.length_m, tolerance.part);
  expect(w.route.blocked).toBe(want.blocked);
  close(w.seconds, want.seconds, tolerance.part);
  close(w.sure_s, want.sure_s ?? want.seconds, tolerance.part);
  close(w.net, want.net, tolerance.part, tolerance.money);
}
