// What the next driver must know, taken out of a computed day: sown, left and doubt; the loose ends with how
// sure; where the openers stopped and which way; what is on board; what was marked today; by how much the
// picture was moved; and what is to be decided next, of several rigs also where a seam between them is not known
// to be closed. The words are made elsewhere: here are only the facts, so that paper, radio and screen say the same.
import { type Left, SURE_Z } from "./balance";
import { wordOf } from "./between";
import { halfToEven, hypot, modulo } from "./columns";
import { type Place, placeAt, placeOf } from "./place";
import type { Plane } from "./plane";
import type { Between } from "./rigs";
import { areaOf } from "./rings";
import type { Area, Call, Floats, Patch, Tally, Way } from "./words";

export type Todo = "fill" | "carry on" | "go back" | "look" | "seam" | "ask" | "leave" | "begin";

/** Bare ground this large is the part not reached yet, no loose end: share of the net area, width, m. */
const REST_SHARE = 0.05;
const REST_M = 20;
/** The direction at the end of a run is taken over this much of it, m. */
const ALONG_M = 30;

/** A bare patch as the next driver hears of it. */
export interface Spot {
  readonly number: number;
  readonly area_m2: number;
  readonly kind: string;
  readonly call: Call;
  readonly place: Place;
}

/** Where the openers were when they were lifted last; `going` a point of the compass, empty: not known. */
export interface Stopped {
  readonly t_ms: number;
  readonly lon_deg: number;
  readonly lat_deg: number;
  readonly place: Place;
  readonly going: string;
}

/** One product on board; `rounds` those it lasts for nine times in ten, null: a round is not known. */
export interface Aboard extends Pick<Left, "ha" | "ha_sigma"> {
  readonly product: string;
  readonly amount: number;
  readonly unit: string;
  readonly rounds: number | null;
}

/** Ground that a product lasts for nine times in ten, ha. */
export const sureOf = ({ ha, ha_sigma }: Aboard): number => Math.max(ha - SURE_Z * ha_sigma, 0);

/** A seam between two rigs, by their names, that is not known to be closed; `word` that of `wordOf`. */
export interface Unclosed extends Pick<Between, "length_m" | "gap_m" | "sigma_m"> {
  readonly rigs: readonly string[];
  readonly side: string;
  readonly word: ReturnType<typeof wordOf>;
}

/** One thing to do: what, for which patches, how much ground, and how long it takes. */
export interface Step {
  readonly todo: Todo;
  readonly patches: readonly number[];
  readonly area_m2: number;
  readonly minutes: number | null;
  readonly product: string;
  readonly side: string;
  readonly seam: Unclosed | null;
}

/** What the day's ground does not tell; `labels` in driving order, null: nothing was weighed. */
export interface Beside {
  readonly paddock: string;
  readonly aboard: readonly Aboard[];
  readonly hazards: readonly string[];
  readonly outs: readonly string[];
  readonly pegs: readonly string[];
  readonly machine: readonly string[];
  readonly driver: string;
  readonly labels: ReadonlyMap<number, string> | null;
  readonly minutes: number | null;
}

/**
 * What one driver hands to the next. Hectares; `bare_low_ha` to `bare_high_ha` 5 to 95 %. `rest` is bare
 * ground that was simply not reached yet, `loose` the listed patches, `look` those that nobody can tell;
 * `moved_m` by how much settling moved the picture, null where it did not.
 */
export interface Handover extends Omit<Beside, "labels" | "minutes"> {
  readonly at_ms: number;
  readonly net_ha: number;
  readonly sown_ha: number;
  readonly bare_ha: number;
  readonly bare_low_ha: number;
  readonly bare_high_ha: number;
  readonly doubt_ha: number;
  readonly questions: number;
  readonly rest: readonly Spot[];
  readonly loose: readonly Spot[];
  readonly look: readonly Spot[];
  readonly stopped: Stopped | null;
  readonly moved_m: number | null;
  readonly steps: readonly Step[];
}

/** What to hand over after a computed day; the tally's seconds count from `t0_ms`. */
export function handover(tally: Tally, plane: Plane, t0_ms: number, at_ms: number, beside: Beside): Handover {
  const { net } = tally.ground;
  const spotOf = ({ number, area_m2, kind, call, outline }: Patch): Spot => ({ number, area_m2, kind, call, place: placeOf(outline, net) });
  const large = tally.patches.slice().sort((a, b) => b.area_m2 - a.area_m2);
  const far = notReached(large, areaOf(net));
  const near = large.filter((patch) => far.indexOf(patch) < 0);
  const rest = far.map(spotOf);
  const loose = near.filter(({ call }) => call !== "can't tell").map(spotOf);
  const look = near.filter(({ call }) => call === "can't tell").map(spotOf);
  const { net_ha, sown_ha, bare_ha, bare_low_ha, bare_high_ha, doubt_ha } = tally;
  const { labels: _labels, minutes: _minutes, ...told } = beside;
  const begun = sown_ha + tally.part_ha + doubt_ha > 0;
  return {
    ...told,
    at_ms, net_ha, sown_ha, bare_ha, bare_low_ha, bare_high_ha, doubt_ha, rest, loose, look,
    questions: tally.questions.length,
    stopped: stoppedAt(tally.ways, net, plane, t0_ms),
    moved_m: tally.settle?.["moved_m"] ?? null,
    steps: begun ? steps(rest, loose, look, beside, tally.questions.length, doubt_ha, unclosed(tally, plane)) : [stepOf("begin")],
  };
}

/** The seams between rigs that are not known to be closed, the longest first. */
function unclosed({ between, rigs, ground }: Tally, plane: Plane): Unclosed[] {
  const told = between.map((seam): Unclosed => {
    const { length_m, gap_m, sigma_m } = seam;
    const [x, y] = plane.point(seam.lon_deg, seam.lat_deg);
    return { rigs: seam.rigs.map((at) => rigs[at].name), side: placeAt(x, y, ground.net).side, length_m, gap_m, sigma_m, word: wordOf(seam) };
  });
  return told.filter(({ word }) => word !== "closed").sort((a, b) => b.length_m - a.length_m);
}

/** Bare ground that is simply not reached yet. */
export const notReached = <T extends Pick<Patch, "area_m2" | "width_m">>(patches: readonly T[], net_m2: number): T[] =>
  patches.filter(({ area_m2, width_m }) => area_m2 >= REST_SHARE * net_m2 && width_m >= REST_M);

const stepOf = (todo: Todo, more: Partial<Step> = {}): Step => ({ todo, patches: [], area_m2: 0, minutes: null, product: "", side: "", seam: null, ...more });

const over = (spots: readonly Spot[]): number => spots.reduce((sum, { area_m2 }) => sum + area_m2, 0);

/**
 * What to do, in order; the first is the next decision. Carrying on comes before going back: the way back is
 * worth least while there is ground to sow anyway. A bin that does not last one round more (or, where a round
 * is not known, less than half a hectare) is filled first. Where more is in doubt than is known to be bare, or what
 * one would drive for may be closed by an answer, asking comes before going back: the list may change with it.
 */
export function steps(rest: readonly Spot[], loose: readonly Spot[], look: readonly Spot[], beside: Pick<Beside, "aboard" | "labels" | "minutes">, questions: number, doubt_ha: number, seams: readonly Unclosed[] = []): Step[] {
  const out: Step[] = [];
  const about = (todo: Todo, spots: readonly Spot[], minutes: number | null = null): Step =>
    stepOf(todo, { patches: spots.map(({ number }) => number), area_m2: over(spots), minutes, side: spots[0].place.side });
  if (rest.length > 0) {
    const short = beside.aboard.find((a) => (a.rounds === null ? sureOf(a) < 0.5 : a.rounds < 1));
    if (short !== undefined) out.push(stepOf("fill", { product: short.product }));
    out.push(about("carry on", rest));
  }
  const { labels } = beside;
  const told = new Map([...loose, ...look].map((spot) => [spot.number, spot] as const));
  const labelled = (wanted: string): Spot[] =>
    Array.from(labels ?? [], ([number, label]) => (label === wanted ? told.get(number) : undefined)).filter((spot): spot is Spot => spot !== undefined);
  const [going, asking, looking] = labels === null ? [loose, [], look] : ["worth it", "ask first", "look first"].map(labelled);
  const ask = questions + asking.length > 0 ? [stepOf("ask", { patches: asking.map(({ number }) => number), area_m2: doubt_ha * 1e4 })] : [];
  const first = asking.length > 0 || (rest.length === 0 && doubt_ha * 1e4 > over(loose));
  if (first) out.push(...ask);
  if (going.length > 0) out.push(about("go back", going, labels !== null && labels.size > 0 ? beside.minutes : null));
  if (looking.length > 0) out.push(about("look", looking));
  for (const seam of seams) out.push(stepOf("seam", { side: seam.side, seam }));
  if (!first) out.push(...ask);
  return out.length === 0 ? [stepOf("leave")] : out;
}

/** The end of the stretch that was sown last. */
function stoppedAt(ways: readonly Way[], net: Area, plane: Plane, t0_ms: number): Stopped | null {
  const end = ({ t_s }: Way): number => t_s[t_s.length - 1];
  let last: Way | null = null;
  for (const way of ways) if (way.t_s.length > 0 && (last === null || end(way) > end(last))) last = way;
  if (last === null || net.length === 0) return null;
  const at = last.x_m.length - 1;
  const [x, y] = [last.x_m[at], last.y_m[at]];
  const [lon_deg, lat_deg] = plane.degrees(x, y);
  return { t_ms: t0_ms + Math.round(end(last) * 1000), lon_deg, lat_deg, place: placeAt(x, y, net), going: goingOf(last.x_m, last.y_m) };
}

/** The direction at the end of a way, a point of the compass; empty for one of no length. */
export function goingOf(x_m: Floats, y_m: Floats): string {
  const last = x_m.length - 1;
  let [gone, k, x, y] = [0, last, x_m[last], y_m[last]];
  while (k > 0 && gone < ALONG_M) {
    const [dx, dy] = [x_m[k - 1] - x_m[k], y_m[k - 1] - y_m[k]];
    const length = hypot(dx, dy);
    const part = length > 0 ? Math.min((ALONG_M - gone) / length, 1) : 1;
    [x, y] = [x_m[k] + part * dx, y_m[k] + part * dy];
    gone += part * length;
    k -= 1;
  }
  return gone < 1 ? "" : toward(Math.atan2(y_m[last] - y, x_m[last] - x));
}

const POINTS = ["east", "north-east", "north", "north-west", "west", "south-west", "south", "south-east"];

/** The direction of a heading as a point of the compass. */
export const toward = (heading_rad: number): string => POINTS[modulo(halfToEven(heading_rad / (Math.PI / 4)), 8)];
