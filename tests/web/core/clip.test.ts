// Overlays of areas, what comes out of them sorted into polygons, and the library behind as it is built in.
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import type * as library from "clipper2-ts";
import { leanCore, leanEngine, numbered, plainArithmetic, plainEngine } from "../../../web/plain";
import { Clip } from "../../../web/src/core/clip";
import { nested } from "../../../web/src/core/nested";
import { areaOf, reversed, signedArea } from "../../../web/src/core/rings";
import type { Ring } from "../../../web/src/core/words";

const square = (x: number, y: number, side: number): Ring => Float64Array.of(x, y, x + side, y, x + side, y + side, x, y + side);
const hole = (x: number, y: number, side: number): Ring => reversed(square(x, y, side));
const clip = new Clip();
const m2 = (rings: readonly Ring[]): number => rings.reduce((sum, ring) => sum + signedArea(ring), 0);

describe("overlays", () => {
  const [one, two] = [[square(0, 0, 10)], [square(5, 0, 10)]];

  it("unite, cut and take away", () => {
    expect(m2(clip.union([...one, ...two]))).toBeCloseTo(150, 6);
    expect(m2(clip.intersection(one, two))).toBeCloseTo(50, 6);
    expect(m2(clip.difference(one, two))).toBeCloseTo(50, 6);
  });

  it("keep holes open, however many rings are united", () => {
    const rings = Array.from({ length: 100 }, (_, i) => [square(20 * i, 0, 10), hole(20 * i + 2, 2, 5)]);
    expect(m2(clip.union([...rings.map(([ring]) => ring as Ring), ...rings.map(([, ring]) => ring as Ring)]))).toBeCloseTo(7500, 6);
  });

  it("tell what lies in more than one of some areas, holes being none of them", () => {
    const holed = [square(0, 0, 10), hole(6, 2, 2)];
    expect(m2(clip.overlap([...holed, ...two, square(8, 0, 10)]))).toBeCloseTo(50 - 4 + 50, 6);
    expect(clip.overlap([...holed, square(20, 0, 10)])).toEqual([]);
  });

  it("of nothing are nothing", () => {
    expect([clip.union([]), clip.intersection([], two), clip.intersection(one, []), clip.difference([], two), clip.polygons([])]).toEqual([[], [], [], [], []]);
    expect(m2(clip.difference(one, []))).toBeCloseTo(100, 6);
  });

  it("grow and shrink, with corners round or mitred", () => {
    expect(m2(clip.grown(one, 1, "mitred"))).toBeCloseTo(144, 6);
    expect(m2(clip.grown(one, -1))).toBeCloseTo(64, 6);
    const round = m2(clip.grown(one, 1));
    expect(round).toBeLessThan(140 + Math.PI);
    expect(round).toBeGreaterThan(140 + 0.96 * Math.PI);
    expect(m2(clip.grown(one, 1, "round", 64))).toBeGreaterThan(round);
    expect(m2(clip.beside(one, 0.5))).toBeCloseTo(40, 0);
  });
});

describe("rings sorted into polygons", () => {
  it("give each outer ring its own holes, and what lies in a hole a polygon of its own", () => {
    const rings = [hole(4, 4, 20), square(0, 0, 30), square(8, 8, 10), hole(10, 10, 4), square(100, 0, 5)];
    const polygons = nested(rings);
    expect(polygons.map((polygon) => polygon.length)).toEqual([2, 2, 1]);
    expect(polygons.find(([outer]) => outer === rings[2])?.[1]).toBe(rings[3]);
    expect(areaOf(polygons)).toBeCloseTo(900 - 400 + 100 - 16 + 25, 6);
  });

  it("keep a hole that touches its outer ring in a corner", () => {
    const touching = Float64Array.of(0, 0, 5, 8, 8, 5);
    expect(nested([square(0, 0, 20), touching]).map((polygon) => polygon.length)).toEqual([2]);
  });

  it("lose no hole whose longest edge lies on that of the ring round it, on whichever side rounding puts it", () => {
    const outer = Float64Array.of(0, 0, 20, 0, 20, 20, 0, 20);
    for (const off of [-1e-4, 0, 1e-4]) {
      const beside = Float64Array.of(off, 5, off, 14, 2, 14, 2, 5);
      expect(areaOf(nested([outer, beside]))).toBeCloseTo(400 - 18, 2);
      const leaning = Float64Array.of(2.5 + off, 5, 7 + off, 14, 9, 14, 9, 5);
      expect(areaOf(nested([Float64Array.of(0, 0, 20, 0, 10, 20), leaning]))).toBeCloseTo(200 - 38.25, 2);
    }
  });
});

type Corner = { readonly x: number; readonly y: number };

/** So many areas one upon another: tangles on a grid of ten, boxes with common sides, and strips side by side. */
function shapes(seed: number, count: number): Corner[][] {
  let state = seed + 1;
  const upTo = (most: number): number => {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
    return Math.floor((state / 2 ** 32) * most);
  };
  return Array.from({ length: count }, (_, k) => {
    if (seed % 3 === 0) return Array.from({ length: 3 + upTo(9) }, () => ({ x: upTo(10), y: upTo(10) }));
    const [x, y] = seed % 2 === 0 ? [upTo(8) * 1e4, upTo(8) * 1e4] : [k * 118_000, upTo(3)];
    const [w, h, lean] = seed % 2 === 0 ? [(1 + upTo(4)) * 1e4, (1 + upTo(4)) * 1e4, 0] : [120_000, 2e6 + upTo(1000), upTo(30_000)];
    return [{ x, y }, { x: x + w, y }, { x: x + w + lean, y: y + h }, { x: x + lean, y: y + h }];
  });
}

describe("the clipping library as it is built in", () => {
  const source = (file: string): string => readFileSync(new URL(`../../../web/node_modules/clipper2-ts/dist/${file}.js`, import.meta.url), "utf8");
  const [core, engine] = [source("Core"), plainEngine(source("Engine"))];

  it("needs nothing that old phones lack, and tells what lies in line as before", async () => {
    const plain = leanCore(plainArithmetic(core), engine);
    expect(plain).not.toContain("BigInt");
    const run = async <T>(code: string): Promise<T> => (await import(/* @vite-ignore */ `data:text/javascript;base64,${Buffer.from(code).toString("base64")}`)) as T;
    const made = await run<typeof library.InternalClipper>(plain);
    const { InternalClipper: known } = await run<typeof library>(core);
    let inLine = 0;
    for (let n = 0; n < 400; n++) {
      const [a, b, far] = [0, 1, 2].map((i) => ({ x: (n * 7919 * (i + 1)) % 1e7, y: (n * 104_729 * (i + 2)) % 1e7 })) as [Corner, Corner, Corner];
      const c = n % 2 === 0 ? far : { x: 2 * b.x - a.x, y: 2 * b.y - a.y };
      expect(made.isCollinear(a, b, c)).toBe(known.isCollinear(a, b, c));
      expect(made.crossProduct(a, b, c)).toBe(known.crossProduct(a, b, c));
      inLine += Number(made.isCollinear(a, b, c));
    }
    expect(inLine).toBeGreaterThanOrEqual(200);
    expect(inLine).toBeLessThan(400);
  });

  it("cuts what the library cuts as it was delivered, corner for corner", async () => {
    const folder = mkdtempSync(join(tmpdir(), "unsown-clip-"));
    const load = async (name: string, tools: string, whole: string): Promise<typeof library.Clipper64> => {
      const write = (file: string, code: string): void => writeFileSync(join(folder, `${file}.mjs`), code.replace(/^\/\/# source.+/m, ""));
      write(name, whole.replace("./Core.js", `./${name}-core.mjs`));
      write(`${name}-core`, tools);
      return ((await import(/* @vite-ignore */ pathToFileURL(join(folder, `${name}.mjs`)).href)) as typeof library).Clipper64;
    };
    try {
      const choices = `${core}\n${source("Engine")}`;
      const made = await load("made", numbered(leanCore(plainArithmetic(core), engine), choices), numbered(leanEngine(engine), choices));
      const known = await load("known", core, source("Engine"));
      let corners = 0;
      for (let n = 0; n < 400; n++) {
        const [ones, others] = [shapes(3 * n, 2 + (n % 7)), shapes(3 * n + 1, 1 + (n % 4))];
        for (const [type, fill] of [[1, 1], [2, 1], [2, 2], [3, 1]] as const) {
          const [ours, theirs] = [made, known].map((Clipper) => {
            const [clipper, found] = [new Clipper(), [] as Corner[][]];
            clipper.addPaths(ones, 0);
            if (type !== 2) clipper.addPaths(others, 1);
            clipper.execute(type, fill, found);
            return found.map((path) => path.map(({ x, y }) => [x, y]));
          });
          expect(ours).toEqual(theirs);
          corners += ours?.flat().length ?? 0;
        }
      }
      expect(corners).toBeGreaterThan(10_000);
    } finally {
      rmSync(folder, { recursive: true });
    }
  });

  it("is refused where it is another version", () => {
    expect(() => plainArithmetic(core.replace("!inclusive", "inclusive"))).toThrow("has changed");
    expect(() => leanCore(core, "InternalClipper.crossProductSign(")).toThrow("of any size");
  });
});
