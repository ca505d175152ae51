// Why ground was sown again: each extra cover goes to one cause, by the later of two visits. The rules stand in
// docs/explain/waste.md. The settled ways are laid on a grid, quad by quad in order of time; every cell keeps
// which one passed over it last. (Home sorts all covers of all cells instead.)
import { hypot, interpAt, modulo, order, runningSum } from "./columns";
import { cellsOf, crossings, gridOver } from "./raster";
import { areaOf, holds, nearest, ringsOf } from "./rings";
import type { Area, Ring, Way } from "./words";

export const CAUSES = ["between runs", "headland ends", "point rows", "round obstacles", "restart", "finishing", "turns"] as const;
export type Cause = (typeof CAUSES)[number];
const [BETWEEN, ENDS, POINTS, OBSTACLES, RESTART, FINISHING, TURNS] = [0, 1, 2, 3, 4, 5, 6];

/** Two passes of one run are two visits when more than this lies between: s, and widths of way. */
const VISIT_S = 20;
const VISIT_WIDTHS = 2;
/** Headings that differ by less are side by side; by more, the runs cross, degrees. */
const BESIDE_DEG = 3;
const ACROSS_DEG = 25;
/** In line: the middles lie nearer than this part of a width sideways. */
const IN_LINE_W = 0.5;
/** Finishing: so little of the net ground left, and so much of the run over sown ground; in part this far about either. */
const LEFT = [0.02, 0.015] as const;
const AGAIN = [0.5, 0.2] as const;
/** Poses are thinned to these steps, m and rad; no more cells than this are counted. */
const STEP_M = 6;
const STEP_RAD = 0.05;
const CELLS = 4_000_000;
/** A quad's heading is taken over this much way to either side, m. */
const COURSE_M = 25;
/** The grid lies aslant to the runs, so that no seam falls on a row of cells, rad. */
const ASLANT = 0.37;
/** A cell that no quad passed over yet: outside, net ground, a keep-out. */
const [OUTSIDE, NET, OUT] = [-3, -2, -1];

/** What the tool passed over between two poses: its corners, of which run (by place), when, where to, way from and to the run's ends. */
interface Quad {
  readonly ring: Ring;
  readonly run: number;
  readonly t_s: number;
  readonly heading_rad: number;
  readonly at_m: number;
  left_m: number;
}

/** Area sown again by cause, and how far finishing may be off; that between runs with all of finishing taken out; seeded ground in keep-outs; m². */
export interface Again {
  readonly causes: Readonly<Record<Cause, number>>;
  readonly swing_m2: number;
  readonly seam_m2: number;
  readonly through_m2: number;
}

/**
 * The quads of all runs: swept by a bar through the tool's middle, from `half_m` behind the first place of a
 * stretch to as far ahead of its last; and each run's way.
 */
function quadsOf(ways: readonly Way[], half_m: number): Quad[] {
  const gone = new Map<number, number>();
  const all: Quad[] = [];
  for (const { run, width_m, length_m, t_s, x_m, y_m, heading_rad } of ways) {
    const begun = gone.get(run) ?? 0;
    gone.set(run, begun + length_m);
    const way = runningSum(x_m.subarray(1).map((x, i) => hypot(x - x_m[i], y_m[i + 1] - y_m[i])));
    const n = way.length - 1;
    let [turn, step, from] = [0, 0, 0];
    let before = bar(0, -half_m);
    function bar(i: number, ahead: number): number[] {
      const [c, s] = [Math.cos(heading_rad[i]), Math.sin(heading_rad[i])];
      const [x, y, h] = [x_m[i] + ahead * c, y_m[i] + ahead * s, width_m / 2];
      return [x - h * s, y + h * c, x + h * s, y - h * c];
    }
    for (let i = 1; i <= n; i++) {
      turn += Math.abs(heading_rad[i] - heading_rad[i - 1]);
      const next = Math.floor(way[i] / STEP_M + turn / STEP_RAD);
      if (next === step && i < n) continue;
      step = next;
      const [ax, ay, bx, by] = bar(i, i < n ? 0 : half_m);
      const at = (way[from] + way[i]) / 2;
      const over = (a: ArrayLike<number>): number => interpAt(Math.min(at + COURSE_M, way[n]), way, a) - interpAt(Math.max(at - COURSE_M, 0), way, a);
      all.push({ ring: Float64Array.of(...before, bx, by, ax, ay), run, t_s: (t_s[from] + t_s[i]) / 2, heading_rad: Math.atan2(over(y_m), over(x_m)), at_m: begun + at, left_m: 0 });
      [before, from] = [[ax, ay, bx, by], i];
    }
  }
  for (const quad of all) quad.left_m = (gone.get(quad.run) ?? 0) - quad.at_m;
  return all;
}

/**
 * Ground sown again, by cause. `net` ground; `whole`: it with the keep-outs that lie in it; `half_m` half the
 * distance between front and rear rank; `settle_m` way within which a restart runs over ground where seed had
 * not yet landed; `hidden_m2` ground between runs believed to be bare though the ways cover it: as much was
 * sown again there, and each run has of it by the new ground that it covered; `left_off`, `over_off` half the
 * bands of what was left, as a part, and of how much of a run went over sown ground.
 */
export function causes(ways: readonly Way[], net: Area, keep_out: Area, whole: Area, half_m: number, settle_m: number, hidden_m2: number, left_off: number, over_off: number): Again {
  const quads = quadsOf(ways, half_m);
  const width = Math.max(1, ...ways.map(({ width_m }) => width_m));
  const [ground, things, fence] = [ringsOf(net), ringsOf(keep_out), whole.map(([ring]) => ring)];
  const net_m2 = areaOf(net);
  const longest = quads.reduce<Quad | null>((most, quad) => (most === null || quad.left_m > most.left_m ? quad : most), null);
  const grid = gridOver([...ground, ...things], (longest?.heading_rad ?? 0) + ASLANT, Math.max(0.5, Math.sqrt((net_m2 * 1.3) / CELLS)));
  const cell_m2 = grid.cell_m ** 2;
  const last = new Int32Array(cellsOf(grid)).fill(OUTSIDE);
  const mark = (rings: readonly Ring[], as: number): void => {
    const spans = crossings(grid, rings);
    for (let k = 0; k + 1 < spans.length; k += 2) last.fill(as, spans[k], spans[k + 1]);
  };
  mark(things, OUT);
  mark(ground, NET);

  const runs = new Map<number, { fresh: number; again: number; readonly by: number[] }>();
  // cells of each earlier quad, noughts between two later ones
  const cellsOver = new Int32Array(quads.length);
  let through = 0;
  for (const q of order(quads.map(({ t_s }) => t_s))) {
    const later = quads[q];
    const run = runs.get(later.run) ?? { fresh: 0, again: 0, by: CAUSES.map(() => 0) };
    runs.set(later.run, run);
    const met: number[] = [];
    const spans = crossings(grid, [later.ring]);
    for (let k = 0; k + 1 < spans.length; k += 2) {
      for (let cell = spans[k]; cell < spans[k + 1]; cell++) {
        const before = last[cell];
        if (before === OUTSIDE) continue;
        last[cell] = before === OUT ? OUTSIDE : q;
        if (before === OUT) through += 1;
        else if (before === NET) run.fresh += 1;
        else if (cellsOver[before]++ === 0) met.push(before);
      }
    }
    for (const before of met) {
      const cells = cellsOver[before];
      cellsOver[before] = 0;
      const earlier = quads[before];
      if (earlier.run === later.run && (later.t_s - earlier.t_s <= VISIT_S || later.at_m - earlier.at_m <= VISIT_WIDTHS * width)) continue;
      run.again += cells;
      run.by[kind(later, earlier)] += cells;
    }
  }
  function kind(later: Quad, earlier: Quad): number {
    const turn = ((later.heading_rad - earlier.heading_rad) * 180) / Math.PI;
    const angle = Math.abs(modulo(turn + 90, 180) - 90);
    const [[x, y], [ex, ey]] = [middle(later.ring), middle(earlier.ring)];
    const aside = Math.abs(Math.cos(later.heading_rad) * (y - ey) - Math.sin(later.heading_rad) * (x - ex));
    const inLine = angle < ACROSS_DEG && aside < IN_LINE_W * width;
    if (earlier.run === later.run && (angle >= ACROSS_DEG || inLine)) return TURNS;
    if (inLine && Math.min(later.at_m, later.left_m, earlier.at_m, earlier.left_m) < settle_m + width) return RESTART;
    if (angle > BESIDE_DEG && things.length > 0) {
      const off = holds(things, x, y) ? 0 : nearest(things, x, y).distance;
      if (off < 2 * width && off < nearest(fence, x, y).distance) return OBSTACLES;
    }
    return angle > ACROSS_DEG ? ENDS : angle > BESIDE_DEG ? POINTS : BETWEEN;
  }

  const areas = CAUSES.map(() => 0);
  let [sown, seam, made, each, later, sooner] = [0, 0, 0, 0, 0, 0];
  runs.forEach(({ fresh }) => (made += fresh));
  const sliver = hidden_m2 / Math.max(made * cell_m2, 1);
  // runs stand in the order in which they began
  runs.forEach(({ fresh, again, by }) => {
    const hidden = fresh * sliver;
    const part = (of: readonly [number, number], by_how: number): number => Math.min(Math.max(0.5 + by_how / (2 * of[1]), 0), 1);
    const left = 1 - (sown * cell_m2) / Math.max(net_m2, 1);
    const over = (again + hidden) / Math.max(fresh + again, 1);
    const late = (less: number, more: number): number => part(LEFT, LEFT[0] - left - less) * part(AGAIN, over + more - AGAIN[0]);
    const swing = (less: number, more: number): number => (late(less, more) * (over + more) - finishing * over) * (fresh + again) * cell_m2;
    const finishing = late(0, 0);
    each += Math.max(Math.abs(swing(0, over_off)), Math.abs(swing(0, -over_off))) ** 2;
    later += swing(left_off, 0);
    sooner += swing(-left_off, 0);
    sown += fresh - hidden;
    if (finishing <= 0.5) seam += by[BETWEEN] * cell_m2;
    by[BETWEEN] += hidden;
    by.forEach((cells, k) => {
      const gone = k === TURNS ? 0 : finishing * cells * cell_m2;
      areas[k] += cells * cell_m2 - gone;
      areas[FINISHING] += gone;
    });
  });
  const told = {} as Record<Cause, number>;
  CAUSES.forEach((name, k) => (told[name] = Math.max(areas[k], 0)));
  return { causes: told, swing_m2: hypot(Math.sqrt(each), Math.max(Math.abs(later), Math.abs(sooner))), seam_m2: seam, through_m2: through * cell_m2 };
}

const middle = (ring: Ring): [number, number] => [(ring[0] + ring[2] + ring[4] + ring[6]) / 4, (ring[1] + ring[3] + ring[5] + ring[7]) / 4];
