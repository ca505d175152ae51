// The live grid: what is painted while driving, and the first answer from it.
import { Chance } from "../../../web/src/core/chance";
import { glance } from "../../../web/src/core/glance";
import { CELL_M, LiveGrid, type Moment, quadsAlong, TILE } from "../../../web/src/core/grid";

const WIDTH_M = 8.4;
const TOOL = { width_m: WIDTH_M, front_rank_m: 0, rear_rank_m: 0 };

interface Drive {
  readonly x_m: Float64Array;
  readonly y_m: Float64Array;
  readonly heading_rad: Float64Array;
}

function straight(y_m: number, length_m: number, heading = 0, step_m = 2): Drive {
  const count = Math.round(length_m / step_m) + 1;
  const [c, s] = [Math.cos(heading), Math.sin(heading)];
  return {
    x_m: Float64Array.from({ length: count }, (_, i) => i * step_m * c - y_m * s),
    y_m: Float64Array.from({ length: count }, (_, i) => i * step_m * s + y_m * c),
    heading_rad: new Float64Array(count).fill(heading),
  };
}

/** Paints a drive at 2 m/s; when it began, and how far the bar had gone. */
function paint(live: LiveGrid, drive: Drive, run: number, t_s = 0, way_m = 0): void {
  const quads = quadsAlong(drive, TOOL);
  for (let k = 0; 8 * k < quads.length; k++) {
    const moment: Moment = { run, t_s: t_s + k, way_m: way_m + 2 * k, width_m: WIDTH_M };
    live.paint(quads.subarray(8 * k, 8 * k + 8), moment);
  }
}

/** By the crossings of a ray to the west. */
const inRing = (ring: Float64Array, x: number, y: number): boolean => {
  let odd = false;
  for (let i = 0, j = ring.length - 2; i < ring.length; j = i, i += 2) {
    const [xa, ya, xb, yb] = [ring[j] ?? 0, ring[j + 1] ?? 0, ring[i] ?? 0, ring[i + 1] ?? 0];
    if (ya > y !== yb > y && x >= xa + ((y - ya) * (xb - xa)) / (yb - ya)) odd = !odd;
  }
  return odd;
};

const area = (cells: number): number => cells * CELL_M ** 2;

describe("the live grid", () => {
  it.each([0, 0.4, 2.9, -1.3])("covers a straight run as large as it is, along %f rad", (turn) => {
    const live = new LiveGrid();
    paint(live, straight(3.17, 400, turn), 1);
    // along the rows its edges may lie half a cell aside
    const within = turn === 0 ? 400 * CELL_M : 0.005 * 400 * WIDTH_M;
    expect(Math.abs(area(live.covered) - 400 * WIDTH_M)).toBeLessThan(within);
    expect(live.twice).toBe(0);
  });

  it("leaves no cell out and counts none twice where quads share an edge, whatever they are", () => {
    const chance = new Chance(5);
    const live = new LiveGrid();
    const poses = [{ x: 0, y: 0, heading: 0 }];
    let { x, y, heading } = { x: 0, y: 0, heading: 0 };
    for (let i = 1; i < 400; i++) {
      heading += 0.02 * chance.normal();
      x += Math.cos(heading) * (0.2 + 2 * chance.uniform());
      y += Math.sin(heading) * (0.2 + 2 * chance.uniform());
      poses.push({ x, y, heading });
    }
    const drive = {
      x_m: Float64Array.from(poses, (p) => p.x),
      y_m: Float64Array.from(poses, (p) => p.y),
      heading_rad: Float64Array.from(poses, (p) => p.heading),
    };
    paint(live, drive, 1);
    expect(live.twice).toBe(0);
    // every place well inside the bar's way is painted
    for (const p of poses.slice(4, -4)) {
      for (const aside of [-3.5, -1.2, 0, 2.1, 3.4]) {
        const [c, s] = [Math.cos(p.heading), Math.sin(p.heading)];
        expect(live.passesAt(p.x - aside * s, p.y + aside * c)).toBe(1);
      }
    }
  });

  it("paints every quad from its leftmost to its rightmost crossing, crossed over itself or not, over tiles' edges", () => {
    const chance = new Chance(9);
    const live = new LiveGrid();
    const plain = new Map<string, number>();
    const near = (at: number): number => at + 12 * (chance.uniform() - 0.5);
    for (let n = 0; n < 300; n++) {
      // about the corner where four tiles meet
      const [x, y] = [40 * (chance.uniform() - 0.5), 40 * (chance.uniform() - 0.5)];
      const quad = [near(x), near(y), near(x), near(y), near(x), near(y), near(x), near(y)];
      live.paint(quad, { run: n, t_s: 100 * n, way_m: 100 * n, width_m: 1 });
      for (let row = -100; row < 100; row++) {
        const [at, cuts]: [number, number[]] = [(row + 0.5) * CELL_M, []];
        for (let k = 0; k < 8; k += 2) {
          const [xa, ya, xb, yb] = [quad[k] ?? 0, quad[k + 1] ?? 0, quad[(k + 2) % 8] ?? 0, quad[(k + 3) % 8] ?? 0];
          if (ya > at !== yb > at) cuts.push(xa + ((at - ya) * (xb - xa)) / (yb - ya));
        }
        for (let c = Math.ceil(Math.min(...cuts) / CELL_M - 0.5); c < Math.ceil(Math.max(...cuts) / CELL_M - 0.5); c++) plain.set(`${c} ${row}`, (plain.get(`${c} ${row}`) ?? 0) + 1);
      }
    }
    expect(live.covered).toBe(plain.size);
    for (let row = -100; row < 100; row++) {
      for (let c = -100; c < 100; c++) expect(live.passesAt((c + 0.5) * CELL_M, (row + 0.5) * CELL_M), `${c} ${row}`).toBe(plain.get(`${c} ${row}`) ?? 0);
    }
  });

  it("counts a strip driven again as twice, and a third time no more than twice", () => {
    const live = new LiveGrid();
    paint(live, straight(3.17, 300), 1);
    paint(live, straight(3.17, 300), 2, 400);
    expect(live.twice).toBe(live.covered);
    paint(live, straight(3.17, 300), 3, 800);
    expect(live.twice).toBe(live.covered);
    expect(live.passesAt(100, 3)).toBe(3);
  });

  it("tells a second visit of one run from the same visit by time and by way", () => {
    const soon = new LiveGrid();
    paint(soon, straight(3.17, 20), 1);
    paint(soon, straight(3.17, 20), 1, 12, 24);
    expect(soon.twice).toBe(0);
    const near = new LiveGrid();
    paint(near, straight(3.17, 20), 1);
    paint(near, straight(3.17, 20), 1, 600, 10);
    expect(near.twice).toBe(0);
    const later = new LiveGrid();
    paint(later, straight(3.17, 20), 1);
    paint(later, straight(3.17, 20), 1, 600, 700);
    expect(later.twice).toBe(later.covered);
  });

  it("tells ground sown before from what the bar itself has just sown", () => {
    const live = new LiveGrid();
    paint(live, straight(3.17, 100), 1);
    const now = { run: 2, t_s: 300, way_m: 0, width_m: WIDTH_M };
    expect(live.sownBefore(50, 3, now)).toBe(true);
    expect(live.sownBefore(50, 13, now)).toBe(false);
    expect(live.sownBefore(99, 3, { run: 1, t_s: 52, way_m: 104, width_m: WIDTH_M })).toBe(false);
  });

  it("says which cells changed since it was asked, no more than there are, and then nothing", () => {
    const live = new LiveGrid();
    const painted = new Map<string, Uint8Array>();
    const carry = (): number => {
      let cells = 0;
      live.changed((tile, rect) => {
        const key = `${tile.column} ${tile.row}`;
        const copy = painted.get(key) ?? new Uint8Array(TILE * TILE);
        for (let row = rect.south; row < rect.north; row++) {
          for (let c = rect.west; c < rect.east; c++) {
            copy.set(tile.passes.subarray(row * TILE + c, row * TILE + c + 1), row * TILE + c);
            cells += 1;
          }
        }
        painted.set(key, copy);
      });
      return cells;
    };
    paint(live, straight(-20, 300, 0.3), 1);
    carry();
    paint(live, straight(40, 300, 0.3), 2, 300);
    expect(carry()).toBeGreaterThan(0);
    expect(carry()).toBe(0);
    const tiles = [...live.all()];
    expect(tiles.length).toBeGreaterThan(4);
    for (const tile of tiles) {
      const copy = painted.get(`${tile.column} ${tile.row}`) ?? new Uint8Array(0);
      expect(Buffer.compare(copy, tile.passes)).toBe(0);
      expect(live.tile(tile.column, tile.row)).toBe(tile);
    }
  });

  it("leaves out a quad that no bar sweeps instead of painting the county", () => {
    const live = new LiveGrid();
    live.paint([0, 0, 9000, 0, 9000, 9000, 0, 9000], { run: 1, t_s: 0, way_m: 0, width_m: 8 });
    live.paint([0, 0, Number.NaN, 0, 5, 5, 0, 5], { run: 1, t_s: 1, way_m: 2, width_m: 8 });
    expect(live.covered).toBe(0);
  });

  it("forgets nothing over a day and a half of moments", () => {
    const live = new LiveGrid();
    const quad = [0, 0, 1, 0, 1, 1, 0, 1];
    for (let t = 0; t < 36 * 3600; t += 2) {
      live.paint(quad, { run: 1 + Math.floor(t / 60), t_s: t, way_m: t, width_m: WIDTH_M });
    }
    expect(live.passesAt(0.5, 0.5)).toBe(255);
  });
});

describe("the first answer from the grid", () => {
  const net = [Float64Array.of(0, 0, 200, 0, 200, 50.4, 0, 50.4)];

  it("finds how much was left out", () => {
    const live = new LiveGrid();
    [0, 1, 3, 5].forEach((k, run) =>
      paint(live, straight((k + 0.5) * WIDTH_M, 200), run, 200 * run),
    );
    const said = glance(live, net);
    expect(Math.abs(said.net_m2 - 200 * 50.4)).toBeLessThan(100);
    expect(Math.abs(said.bare_m2 - 2 * 200 * WIDTH_M)).toBeLessThan(100);
  });

  it("counts slivers as bare", () => {
    const live = new LiveGrid();
    for (let k = 0; k < 6; k++) {
      paint(live, straight((k + 0.5) * WIDTH_M - (k > 2 ? 0 : 0.7), 200), k, 200 * k);
    }
    expect(glance(live, net).bare_m2).toBeGreaterThan(80);
  });

  it("says of every cell what a plain count says of it, about the plane's middle and beyond the tiles", () => {
    const live = new LiveGrid();
    paint(live, straight(-20, 300, 0.7), 1);
    paint(live, straight(9, 300, 0.7), 2, 300);
    const about = [Float64Array.of(-30, -25, 250, -20, 240, 190, -20, 180), Float64Array.of(20, 20, 60, 20, 60, 50, 20, 50)];
    const holds = (x: number, y: number): boolean => about.filter((ring) => inRing(ring, x, y)).length === 1;
    const [inside, bare] = [new Set<string>(), new Set<string>()];
    for (let x = -40.25; x < 260; x += CELL_M) {
      for (let y = -40.25; y < 260; y += CELL_M) {
        if (!holds(x, y)) continue;
        inside.add(`${x} ${y}`);
        if (live.passesAt(x, y) === 0) bare.add(`${x} ${y}`);
      }
    }
    expect(glance(live, about)).toEqual({ net_m2: area(inside.size), bare_m2: area(bare.size) });
    expect(bare.size).toBeLessThan(inside.size);
  });

  it("takes keep-outs off, and has nothing to say of no paddock", () => {
    const live = new LiveGrid();
    const hole = Float64Array.of(10, 10, 10, 30, 40, 30, 40, 10);
    const said = glance(live, [...net, hole]);
    expect(Math.abs(said.bare_m2 - (200 * 50.4 - 600))).toBeLessThan(100);
    expect(glance(live, [])).toEqual({ net_m2: 0, bare_m2: 0 });
  });
});
