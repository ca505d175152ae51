// English: the eight lines of a handover, word for word those of the paper (server/unsown/formats/eight.py).
// What is not known is a rule for the pen.
import { type Aboard, type Handover, type Spot, type Step, type Unclosed, sureOf } from "../../core/handover";
import { type AreaUnit, area, distance, rough, size, pace as metres } from "../../formats/units";
import { capital, listed, whereOf } from "./parts";

const BLANK = "____";
/** What every rig carries, in the order of the paper's columns for fills. */
const PRODUCTS = [["seed", "kg"], ["fertiliser", "kg"], ["fuel", "L"]] as const;
/** Of patches that an open answer may close. */
export const MAY_BE = "may be sown after all";
const NAMED = 3;
/** Letters of a rig's name. */
const NAME = 24;
const HAZARDS = 5;
const NOTES = 3;
/** A picture moved by less than this is not worth a word, m. */
const MOVED_M = 0.3;

type Line = readonly [string, string];

/** The lines in their order, each a name and its text; `clock` says a moment. */
export function eight(h: Handover, unit: AreaUnit, clock: (t_ms: number) => string): Line[] {
  return [
    ["Ground", groundOf(h, unit)],
    ["Next", nextOf(h.steps, unit)],
    ["Bins", binsOf(h.aboard, unit)],
    ["Restart", restartOf(h, unit, clock)],
    ["Hazards", hazardsOf(h)],
    ["Machine", h.machine.slice(0, NOTES).join("; ") || BLANK],
    ["Peg", pegOf(h, unit)],
    ["Who", `${h.driver || BLANK} to ${BLANK}; as of ${clock(h.at_ms)}`],
  ];
}

function groundOf(h: Handover, unit: AreaUnit): string {
  const [low = ""] = area(h.bare_low_ha, unit).split(" ");
  const rest = h.rest.reduce((sum, { area_m2 }) => sum + area_m2, 0);
  const parts = [
    `sown ${area(h.sown_ha, unit)} of ${area(h.net_ha, unit)}`,
    `bare ${area(h.bare_ha, unit)} (${low} to ${area(h.bare_high_ha, unit)})`,
    h.rest.length === 0 ? "" : `of it not reached yet ${size(rest, unit)}`,
    callsOf([...h.loose, ...h.look]),
    `doubt ${area(h.doubt_ha, unit)}${h.questions === 0 ? "" : ` (${h.questions} asked about)`}`,
  ];
  return listed(parts, "; ");
}

/** The loose ends by how sure they are. */
function callsOf(spots: readonly Spot[]): string {
  const [first] = spots;
  if (first === undefined) return "no loose end that a phone can find";
  if (spots.length === 1) return `1 loose end (${first.call})`;
  const counts = (["sure", "likely", "can't tell"] as const).map((call) => [spots.filter((spot) => spot.call === call).length, call] as const);
  const told = counts.filter(([n]) => n > 0).map(([n, call]) => `${n} ${call}`);
  return `${spots.length} loose ends (${told.join(", ")})`;
}

/** What to do, in order: such as `Fill seed. Then look at patch 3.` */
export function nextOf(steps: readonly Step[], unit: AreaUnit): string {
  const [first, ...rest] = steps.map((step) => todoOf(step, unit));
  if (first === undefined) return BLANK;
  return [`${capital(first)}.`, ...rest.map((text) => `Then ${text}.`)].join(" ");
}

function todoOf({ todo, product, side, patches, minutes, area_m2, seam }: Step, unit: AreaUnit): string {
  if (seam) return seamOf(seam, unit);
  switch (todo) {
    case "fill":
      return `fill ${product}: it does not last one more round`;
    case "carry on":
      return `carry on sowing: ${size(area_m2, unit)} not sown yet, ${side} first`;
    case "go back":
      return `go back for ${named(patches)}: ${size(area_m2, unit)}, ${side}${patches.length > 1 ? " first" : ""}${minutes === null ? "" : `, worth it, about ${Math.max(Math.round(minutes), 1)} min`}`;
    case "look":
      return `look at the furrow at ${named(patches)}: can't tell from here`;
    case "ask":
      return `${patches.length === 0 ? "" : `ask first: ${named(patches)} ${MAY_BE}; `}answer what is asked about ${area(area_m2 / 1e4, unit)} of doubt`;
    case "begin":
      return "begin: no sowing was logged here yet";
    default:
      return "nothing is left to go back for that a phone can find";
  }
}

/** What is to be done about a seam between two rigs. */
function seamOf({ rigs, side, length_m, gap_m, sigma_m, word }: Unclosed, unit: AreaUnit): string {
  const where = `along the seam between ${rigs.map((name) => name.slice(0, NAME)).join(" and ")} (${side}, ${distance(length_m, unit)}): `;
  const gap = `about ${metres(Math.abs(gap_m), unit)} ${gap_m > 0 ? "left" : "of overlap"}`;
  if (word === "open") return `go back ${where}it is open, ${gap}`;
  return `look at the furrow ${where}${word === "about" ? `${gap}, give or take ${metres(sigma_m, unit)}` : `can't tell, the phones may lie ${metres(2 * sigma_m, unit)} apart`}`;
}

/** `patch 3`, `patches 1, 2 and 5`, `patches 1, 2, 5 and 4 more`. */
export function named(numbers: readonly number[]): string {
  const count = numbers.length;
  if (count === 1) return `patch ${numbers[0]}`;
  if (count > NAMED + 1) return `patches ${numbers.slice(0, NAMED).join(", ")} and ${count - NAMED} more`;
  return `patches ${numbers.slice(0, -1).join(", ")} and ${numbers[count - 1]}`;
}

function binsOf(aboard: readonly Aboard[], unit: AreaUnit): string {
  const known = PRODUCTS.map(([product, sign]) => {
    const found = aboard.find((a) => a.product.toLowerCase() === product);
    return found === undefined ? `${product} ${BLANK} ${sign}` : aboardOf(found, unit);
  });
  const others = aboard.filter((a) => PRODUCTS.every(([product]) => product !== a.product.toLowerCase()));
  return [...known, ...others.map((a) => aboardOf(a, unit))].join("; ");
}

export function aboardOf(a: Aboard, unit: AreaUnit): string {
  const [sign, by] = a.unit === "l" ? ["L", 10] : [a.unit, 50];
  const amount = `${a.product} about ${Math.max(Math.round(a.amount / by) * by, 0)} ${sign}`;
  const lasts = `${amount}, lasts at least ${rough(sureOf(a), unit)}`;
  return a.rounds === null ? lasts : `${lasts} = ${a.rounds} round${a.rounds === 1 ? "" : "s"}`;
}

function restartOf({ stopped }: Handover, unit: AreaUnit, clock: (t_ms: number) => string): string {
  if (stopped === null) return `at ${BLANK} going ${BLANK}`;
  return `openers stopped ${whereOf(stopped.place, (m) => distance(m, unit))}${stopped.going === "" ? "" : `, going ${stopped.going}`}; lifted ${clock(stopped.t_ms)}`;
}

function hazardsOf({ hazards, outs }: Handover): string {
  const fresh = hazards.length === 0 ? "none new today" : `new today: ${some(hazards, HAZARDS)}`;
  return `${fresh}${outs.length === 0 ? "" : `; left out today: ${some(outs, NOTES)}`}. Only what was marked is here`;
}

const some = (names: readonly string[], most: number): string => `${names.slice(0, most).join(", ")}${names.length > most ? ` and ${names.length - most} more on the map` : ""}`;

function pegOf({ pegs, moved_m }: Handover, unit: AreaUnit): string {
  const stand = pegs.length === 0 ? "none logged: another day's picture may lie metres off" : `peg check first: stand at ${some(pegs, NOTES)}`;
  if (moved_m === null || moved_m < MOVED_M) return stand;
  return `${stand}; runs shifted about ${metres(moved_m, unit)} to fit each other`;
}
