// English: the radio script, what the next driver must know in at most 60 spoken words. Numbers count as they
// are spoken: `41.2` is four words. What matters most is taken first, each sentence in the longest form that
// there is still room for; they are said in a fixed order. Word for word server/unsown/formats/script.py.
import { type Aboard, type Handover, type Spot, type Step, sureOf } from "../../core/handover";
import { ACRE_M2, type AreaUnit, size } from "../../formats/units";

/** Most spoken words of a script. */
export const MOST = 60;
/** Names longer than this are cut on the radio, words. */
const NAME = 4;
/** And those of rigs, of which there are two in a sentence. */
const RIG = 2;
const WORD = /\d+(?:\.\d+)?|[^\s\d_!-@[-`{-¿×÷\u2000-\u206f]+(?:['’][^\s\d_!-@[-`{-¿×÷\u2000-\u206f]+)*/g;

/** The script, of at most `MOST` spoken words. */
export function script(h: Handover, unit: AreaUnit): string {
  const parts = partsOf(h, unit).filter(({ forms }) => forms.length > 0);
  const ranked = Array.from(parts.keys()).sort((a, b) => (parts[a]?.rank ?? 0) - (parts[b]?.rank ?? 0) || a - b);
  const said = new Map<number, string>();
  const fits = (k: number, form: string): boolean => {
    let words = spoken(form);
    said.forEach((text, other) => (words += other === k ? 0 : spoken(text)));
    return words <= MOST;
  };
  // first every sentence at its shortest, then longer where there is room
  for (const k of ranked) {
    const shortest = parts[k]?.forms[(parts[k]?.forms.length ?? 0) - 1] ?? "";
    if (fits(k, shortest)) said.set(k, shortest);
  }
  for (const k of ranked.filter((each) => said.has(each))) {
    const form = parts[k]?.forms.find((each) => fits(k, each));
    if (form !== undefined) said.set(k, form);
  }
  return Array.from(said.keys()).sort((a, b) => a - b).map((k) => said.get(k)).join(" ");
}

/** How many words a text has when it is spoken: `41.2 ha` five, `north-west` two. */
export const spoken = (text: string): number => (text.match(WORD) ?? []).reduce((sum, word) => sum + wordsOf(word), 0);

function wordsOf(word: string): number {
  if (!/^\d/.test(word)) return 1;
  const [whole = "", part = ""] = word.split(".");
  return wholeOf(Number(whole)) + (part === "" ? 0 : 1 + part.length);
}

/** Words of a whole number: `114` is one hundred fourteen, `21` twenty one. */
function wholeOf(n: number): number {
  if (n < 20) return 1;
  if (n < 100) return n % 10 > 0 ? 2 : 1;
  const [by, words] = n < 1000 ? [100, 1] : [1000, 1];
  return wholeOf(Math.floor(n / by)) + words + (n % by > 0 ? wholeOf(n % by) : 0);
}

/** A sentence: how much it matters (0 most), and its forms, the longest first. */
interface Part {
  readonly rank: number;
  readonly forms: readonly string[];
}

function partsOf(h: Handover, unit: AreaUnit): Part[] {
  return [
    { rank: 0, forms: [`${cut(h.paddock, NAME)}.`, `${cut(h.paddock, 1)}.`] },
    { rank: 1, forms: [`Sown ${tenth(h.sown_ha, unit)} of ${land(h.net_ha, unit)}.`] },
    { rank: 3, forms: h.stopped === null ? [] : [`Openers stopped ${h.stopped.place.side}${h.stopped.going === "" ? "" : `, going ${h.stopped.going}`}.`] },
    { rank: 2, forms: hazardsOf(h.hazards) },
    { rank: 5, forms: looseOf(h.loose, unit) },
    { rank: 6, forms: doubtOf(h, unit) },
    { rank: 4, forms: aboardOf(h.aboard, unit) },
    { rank: 1, forms: nextOf(h.steps, unit) },
  ];
}

function hazardsOf(hazards: readonly string[]): string[] {
  const [first] = hazards;
  if (first === undefined) return ["No new hazard was marked.", "No new hazard."];
  const all = hazards.map((name) => cut(name, NAME)).join(", ");
  if (hazards.length === 1) return [`New hazard: ${all}.`, `New hazard: ${cut(first, 3)}.`];
  const head = `${hazards.length} new hazards`;
  return [`${head}: ${all}.`, `${head}: ${cut(first, 3)}, others on the map.`, `${head}: see the map.`];
}

function looseOf(loose: readonly Spot[], unit: AreaUnit): string[] {
  const [biggest] = loose;
  if (biggest === undefined) return ["No loose ends."];
  const sure = loose.filter(({ call }) => call === "sure").length;
  const one = loose.length === 1;
  const head = one ? `1 loose end, ${sure > 0 ? "sure" : "likely"}` : `${loose.length} loose ends, ${sure === 0 ? "none" : sure} sure`;
  const { side } = biggest.place;
  const least = one ? "" : "largest ";
  return [`${head}, ${least}${spokenSize(biggest.area_m2, unit)} ${side}.`, `${head}, ${least}${side}.`, `${head}.`];
}

function doubtOf({ doubt_ha, questions }: Handover, unit: AreaUnit): string[] {
  if (doubt_ha < 0.05) return [];
  const said = `Doubt ${land(doubt_ha, unit)}`;
  return [`${said}${questions === 0 ? "" : `, ${questions} question${questions === 1 ? "" : "s"}`}.`, `${said}.`];
}

/** What runs out first. */
function aboardOf(aboard: readonly Aboard[], unit: AreaUnit): string[] {
  const [head] = aboard;
  if (head === undefined) return [];
  const first = aboard.reduce((least, a) => (sureOf(a) < sureOf(least) ? a : least), head);
  const name = cut(first.product, 2);
  const who = `${name.charAt(0).toUpperCase()}${name.slice(1).toLowerCase()}`;
  const lasts = land(sureOf(first), unit);
  if (first.rounds === null) return [`${who} for ${lasts}.`];
  const rounds = first.rounds === 1 ? "1 round" : `${first.rounds} rounds`;
  return [`${who} for ${rounds}, ${lasts}.`, `${who} for ${rounds}.`];
}

function nextOf(steps: readonly Step[], unit: AreaUnit): string[] {
  const said = steps.map((step) => todoOf(step, unit));
  if (said.length === 0) return [];
  const one = `Next: ${said[0]}.`;
  return said.length > 1 ? [`Next: ${said[0]}; then ${said[1]}.`, one] : [one];
}

function todoOf({ todo, product, side, patches, minutes, area_m2, seam }: Step, unit: AreaUnit): string {
  if (seam) return `${seam.word === "open" ? "go back along" : "look at"} the seam between ${seam.rigs.map((name) => cut(name, RIG)).join(" and ")}, ${side}`;
  switch (todo) {
    case "fill":
      return `fill ${cut(product, 2).toLowerCase()}`;
    case "carry on":
      return `carry on sowing, ${side}`;
    case "go back": {
      const whole = Math.max(Math.round(minutes ?? 0), 1);
      return `go back for ${named(patches)}, ${side}${patches.length > 1 ? " first" : ""}${minutes === null ? "" : `, ${whole} minute${whole === 1 ? "" : "s"}`}`;
    }
    case "look":
      return `look at ${named(patches)}`;
    case "ask":
      return patches.length > 0 ? `ask first, ${named(patches)} may be sown` : `answer what is asked about ${land(area_m2 / 1e4, unit)} of doubt`;
    case "begin":
      return "begin";
    default:
      return "nothing is left that a phone can find";
  }
}

function named(numbers: readonly number[]): string {
  if (numbers.length === 1) return `patch ${numbers[0]}`;
  if (numbers.length > 4) return `${numbers.length} patches`;
  return `patches ${numbers.slice(0, -1).join(", ")} and ${numbers[numbers.length - 1]}`;
}

/** Hectares or acres to a tenth, from a hundred on to a whole one. */
function tenth(ha: number, unit: AreaUnit): string {
  const value = unit === "ac" ? (ha * 1e4) / ACRE_M2 : ha;
  return value.toFixed(value >= 99.95 ? 0 : 1);
}

const land = (ha: number, unit: AreaUnit): string => `${tenth(ha, unit)} ${unit === "ac" ? "acres" : "hectares"}`;

const spokenSize = (m2: number, unit: AreaUnit): string => size(m2, unit).replace("m²", "square metres").replace(" ac", " acres").replace(" ha", " hectares");

/** The first words of a name, as many as are spoken. */
function cut(name: string, words: number): string {
  const out: string[] = [];
  for (const word of name.trim().split(/\s+/)) {
    if (spoken([...out, word].join(" ")) > words) break;
    out.push(word);
  }
  return out.join(" ") || (name.match(WORD)?.[0] ?? "");
}
