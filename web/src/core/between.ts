// Several rigs in one paddock: each settled by itself, then laid beside each other.
//
// Nobody knows how two phones' places are offset. Pegs that both visited tell it; so does a surveyed fence along
// which both drove, to which each is settled. Else it is looked for in the seams that the rigs share, and taken
// only where these leave no other choice: several seams, in more than one direction, that agree in one offset.
// Where nothing tells, the draws of the picture move the rigs against each other by what phones differ by, and
// the seam between them is told with that spread.
import type { Chance } from "./chance";
import { hypot, mean, median, taken, where } from "./columns";
import { type PegVisit, type Picture, movedAt } from "./picture";
import type { Plane } from "./plane";
import type { Between } from "./rigs";
import { type Gaps, SAMPLE_M, type Samples, gapChange, select } from "./samples";
import { seams } from "./seams";
import type { Floats, Ints } from "./words";

/** Two phones that nothing ties together differ by this much on each axis, one sigma, m. */
const APART_M = 3;
/** Those that report to be as good as this are taken at their word, m. */
const GOOD_M = 0.3;
/** Pictures whose draws agree on their own place within this are tied to the fence, m. */
const TIED_M = 1;
/** Places read beside a peg are this good, m. */
const PEG_M = 0.3;
/** Seams are looked for up to this middle gap, in widths, and offsets up to this, m, on this grid. */
const [MOST_W, SEARCH_M, GRID_M] = [0.75, 6, 0.25];
/** A misfit counts no more than this, m; so near offsets are one; another one must be so much worse. */
const [CAP_M, ONE_M, SHARP] = [2.5, 1.5, 0.8];
/** Two unknowns: so many seams can contradict each other. */
const SEAMS = 4;
/** A seam is bare where its gap is wider than one opener's row, m; told when pictures lie within so much. */
const [ROW_M, LOOSE_M] = [0.3, 1.5];

type Shift = readonly [east_m: number, north_m: number];

/** By how much a picture must be moved, and about that in each draw. */
interface Offset {
  readonly best: Shift;
  readonly draws: readonly Shift[];
}

/** One rig's settled picture, its peg visits, and the accuracy that its phones report, m. */
export interface Part {
  readonly picture: Picture;
  readonly pegs: readonly PegVisit[];
  readonly accuracy_m: number;
}

/** One picture of all rigs, each moved against those before it as far as anything tells; most work stays. */
export function laidTogether(parts: readonly Part[], chance: Chance): Picture {
  const size = ({ picture }: Part): number => picture.samples.t_s.length;
  return parts
    .slice()
    .sort((a, b) => size(b) - size(a))
    .reduce((done, part) => ({
      picture: merged(done.picture, shifted(part.picture, offset(done, part, chance))),
      pegs: [...done.pegs, ...part.pegs],
      accuracy_m: Math.max(done.accuracy_m, part.accuracy_m),
    })).picture;
}

function offset(done: Part, part: Part, chance: Chance): Offset {
  const { picture } = part;
  const about = (best: Shift, sigma: number, more?: readonly Shift[]): Offset => ({
    best,
    draws: picture.east_draws.map((_, k) => {
      const [east, north] = more?.[k] ?? [0, 0];
      return [east + sigma * chance.normal(), north + sigma * chance.normal()];
    }),
  });
  const names = new Set(part.pegs.map((peg) => peg.name).filter((name) => done.pegs.some((peg) => peg.name === name)));
  if (names.size > 0) {
    const [here, there] = [done, part].map((one) => meanOf(Array.from(names, (name) => pegOf(one, name))));
    const draws = here.draws.map((draw, k) => minus(draw, there.draws[k]));
    return about(minus(here.best, there.best), PEG_M * Math.sqrt(2 / names.size), draws);
  }
  const [own, theirs] = [adrift(picture), adrift(done.picture)];
  if (hypot(own, theirs) < TIED_M) return about([0, 0], 0);
  if (Math.max(done.accuracy_m, part.accuracy_m) < GOOD_M) return about([0, 0], GOOD_M);
  const found = bySeams(merged(done.picture, picture), done.picture.samples.t_s.length);
  if (found !== null) {
    // the draws' own wandering of either picture as a whole is told by the seams too
    const mine = whole(picture);
    return about(found.best, found.sigma, whole(done.picture).map((draw, k) => minus(draw, mine[k])));
  }
  return about([0, 0], Math.sqrt(Math.max(APART_M ** 2 - hypot(own || 0, theirs || 0) ** 2, 0)));
}

const minus = (a: Shift, b: Shift): Shift => [a[0] - b[0], a[1] - b[1]];
const middle = (all: readonly Shift[]): Shift => [mean(all.map((one) => one[0])), mean(all.map((one) => one[1]))];
const meanOf = (all: readonly Offset[]): Offset => ({
  best: middle(all.map((one) => one.best)),
  draws: all[0].draws.map((_, k) => middle(all.map((one) => one.draws[k]))),
});

/** Mean displacement of each draw. */
function whole({ east_draws, north_draws }: Picture): Shift[] {
  return east_draws.map((east, k) => [mean(east), mean(north_draws[k])]);
}

/** How far the draws disagree on where the whole picture lies, m; NaN: it was not settled. */
function adrift(picture: Picture): number {
  const draws = whole(picture);
  if (picture.info === null || draws.length < 2) return Number.NaN;
  return Math.max(...[0, 1].map((axis) => spread(draws.map((draw) => draw[axis]))));
}

function spread(values: readonly number[]): number {
  const about = mean(values);
  return Math.sqrt(mean(values.map((value) => (value - about) ** 2)));
}

/** Where a rig's picture has a peg, and its displacement there in each draw. */
function pegOf({ picture, pegs }: Part, named: string): Offset {
  const { samples: s, east_draws, north_draws } = picture;
  return meanOf(
    pegs
      .filter(({ name }) => name === named)
      .map(({ t_s, leg, x_m, y_m }): Offset => {
        const [east, north] = movedAt(picture, t_s, leg);
        let [at, apart] = [-1, Infinity];
        s.t_s.forEach((t, i) => {
          if (s.leg[i] === leg && Math.abs(t - t_s) < apart) [at, apart] = [i, Math.abs(t - t_s)];
        });
        return { best: [x_m + east, y_m + north], draws: east_draws.map((draw, k) => (at < 0 ? [0, 0] : [draw[at], north_draws[k][at]])) };
      }),
  );
}

/** The offset in which the shared seams close, and its sigma; null where it is not sharp. */
function bySeams(all: Picture, first: number): { best: Shift; sigma: number } | null {
  const every = seamsOf(all);
  const later = (sample: number): boolean => sample >= first;
  const rows = some(every, (i) => later(every.who[3 * i]) !== later(every.who[3 * i + 1]));
  const many = new Set(rows.chain).size;
  if (many < SEAMS) return null;
  const [gap, pull] = [asMoved(rows, all), pulled(rows, later)];
  const misfit = ([east, north]: Shift): number[] => pull.map((by, i) => Math.abs(gap[i] + by[0] * east + by[1] * north));
  const tried: { at: Shift; cost: number }[] = [];
  for (let north = -SEARCH_M; north <= SEARCH_M; north += GRID_M) {
    for (let east = -SEARCH_M; east <= SEARCH_M; east += GRID_M) {
      tried.push({ at: [east, north], cost: misfit([east, north]).reduce((sum, off) => sum + Math.min(off, CAP_M), 0) });
    }
  }
  const least = tried.reduce((a, b) => (b.cost < a.cost ? b : a));
  if (tried.some(({ at, cost }) => hypot(...minus(at, least.at)) > ONE_M && least.cost > SHARP * cost)) return null;
  return { best: least.at, sigma: Math.max((1.4826 * median(misfit(least.at))) / Math.sqrt(many), GRID_M / 2) };
}

const some = (rows: Gaps, has: (row: number) => boolean): Gaps => select(rows, Array.from(rows.chain.keys()).filter(has));

/** Rows of all seams of the settled picture, as logged. */
function seamsOf({ samples: s, east_m, north_m }: Picture): Gaps {
  return seams(s, s.x_m.map((x, i) => x + east_m[i]), s.y_m.map((y, i) => y + north_m[i]), MOST_W);
}

/** The gaps in the settled picture, or in one of its draws, m. */
function asMoved(rows: Gaps, p: Picture, draw?: number): Floats {
  const at = (by: Floats, draws: readonly Floats[]): Floats => (draw === undefined ? by : by.map((value, i) => value + draws[draw][i]));
  const [east, north] = [at(p.east_m, p.east_draws), at(p.north_m, p.north_draws)];
  // the gap is told for true = logged − drift, and the picture was moved by minus the drift
  return rows.gap_m.map((gap, i) => gap - gapChange(rows, i, east, north));
}

/** By how much each gap changes with an offset of the samples that are `moved`. */
function pulled(rows: Gaps, moved: (sample: number) => boolean): Shift[] {
  const one = Float64Array.from(rows.who, (sample) => Number(moved(sample)));
  const sum = (by: Floats, i: number): number => -(by[i] * one[i] + by[i + 1] * one[i + 1] + by[i + 2] * one[i + 2]);
  return Array.from(rows.gap_m, (_, i) => [sum(rows.east, 3 * i), sum(rows.north, 3 * i)]);
}

/** A picture moved as a whole, and each of its draws besides. */
function shifted(p: Picture, { best: [east, north], draws }: Offset): Picture {
  const by = (column: Floats, much: number): Floats => column.map((value) => value + much);
  return {
    ...p,
    stretches: p.stretches.map((x) => ({ ...x, poses: { ...x.poses, x_m: by(x.poses.x_m, east), y_m: by(x.poses.y_m, north) } })),
    east_m: by(p.east_m, east),
    north_m: by(p.north_m, north),
    east_draws: p.east_draws.map((draw, k) => by(draw, draws[k][0])),
    north_draws: p.north_draws.map((draw, k) => by(draw, draws[k][1])),
  };
}

/** Two pictures as one, as worse told as the worse of them. */
function merged(a: Picture, b: Picture): Picture {
  const more = { ...b.samples, stretch: b.samples.stretch.map((number) => number + a.stretches.length) };
  const samples: Record<string, Floats | Ints> = {};
  for (const key of Object.keys(more) as (keyof Samples)[]) samples[key] = both<Floats | Ints>(a.samples[key], more[key]);
  let info = a.info ?? b.info;
  if (a.info !== null && b.info !== null) {
    const worse: Record<string, number> = {};
    for (const key of Object.keys(a.info)) worse[key] = Math.max(a.info[key], b.info[key]);
    info = { ...worse, seams: a.info["seams"] + b.info["seams"] };
  }
  return {
    stretches: [...a.stretches, ...b.stretches],
    samples: samples as unknown as Samples,
    east_draws: a.east_draws.map((draw, k) => both(draw, b.east_draws[k])),
    north_draws: a.north_draws.map((draw, k) => both(draw, b.north_draws[k])),
    info,
    sigma_m: Math.max(a.sigma_m, b.sigma_m),
    east_m: both(a.east_m, b.east_m),
    north_m: both(a.north_m, b.north_m),
  };
}

function both<T extends Floats | Ints>(one: T, other: T): T {
  const out = new (one.constructor as new (size: number) => T)(one.length + other.length);
  out.set(one);
  out.set(other, one.length);
  return out;
}

/** The seam between two rigs as told, and points along it on the plane. */
export interface Seam {
  readonly told: Between;
  readonly x_m: Floats;
  readonly y_m: Floats;
}

/** Every seam between two rigs, tested with all that their pictures may be off by; the outfit of each leg. */
export function tested(picture: Picture, outfits: readonly number[], plane: Plane): Seam[] {
  const { samples: s, east_m, north_m } = picture;
  const rows = seamsOf(picture);
  const outfit = (sample: number): number => outfits[s.leg[sample]];
  const out: Seam[] = [];
  const most = Math.max(...outfits);
  for (let one = 0; one < most; one++) {
    for (let other = one + 1; other <= most; other++) {
      const mine = some(rows, (i) => {
        const pair = [outfit(rows.who[3 * i]), outfit(rows.who[3 * i + 1])];
        return pair.indexOf(one) >= 0 && pair.indexOf(other) >= 0;
      });
      const count = mine.gap_m.length;
      if (count === 0) continue;
      const sides = sidesOf(pulled(mine, (sample) => outfit(sample) === other));
      const drawn = picture.east_draws.map((_, k) => {
        const gap = asMoved(mine, picture, k);
        return sides.map((side) => mean(taken(gap, side)));
      });
      const gap_m = mean(asMoved(mine, picture));
      const along = (logged: Floats, by: Floats): Floats =>
        Float64Array.from(mine.chain, (_, i) => {
          const [later, earlier] = [mine.who[3 * i], mine.who[3 * i + 1]];
          return (logged[later] + by[later] + logged[earlier] + by[earlier]) / 2;
        });
      const [x_m, y_m] = [along(s.x_m, east_m), along(s.y_m, north_m)];
      const [lon_deg, lat_deg] = plane.degrees(x_m[count >> 1], y_m[count >> 1]);
      const told: Between = {
        rigs: [one, other],
        length_m: count * SAMPLE_M,
        gap_m,
        sigma_m: drawn.length > 1 ? Math.max(...sides.map((_, side) => spread(drawn.map((gaps) => gaps[side])))) : 0,
        chance: drawn.length > 0 ? mean(drawn.map((gaps) => Number(Math.max(...gaps) > ROW_M))) : Number(gap_m > ROW_M),
        lon_deg,
        lat_deg,
      };
      out.push({ told, x_m, y_m });
    }
  }
  return out;
}

/** Rows that an offset opens and rows that it closes: where rigs take turns there are both. */
function sidesOf(pull: readonly Shift[]): Ints[] {
  const sum = (of: (by: Shift) => number): number => pull.reduce((total, by) => total + of(by), 0);
  // the direction in which the rows pull most: the first axis of their second moments
  const axis = Math.atan2(2 * sum(([e, n]) => e * n), sum(([e, n]) => e * e - n * n)) / 2;
  const along = pull.map(([e, n]) => Number(e * Math.cos(axis) + n * Math.sin(axis) >= 0));
  return [where(along), where(along.map((flag) => 1 - flag))].filter((side) => side.length > 0);
}

/** What is to be said of a seam between two rigs. */
export function wordOf({ chance, sigma_m }: Pick<Between, "chance" | "sigma_m">): "open" | "closed" | "about" | "can't tell" {
  if (chance >= 0.9) return "open";
  if (chance <= 0.1) return "closed";
  return sigma_m < LOOSE_M ? "about" : "can't tell";
}
