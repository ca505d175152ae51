// The peg check: the mean of half a minute of positions beside a mark in the ground. Positions are those
// that are being logged, wherever they come from.
import { Plane } from "../../core/plane";
import type { Mark } from "../../core/words";
import type { EntryOf } from "../../keep/entry";
import { button, h, lineBox, put } from "../dom";
import { isPeg } from "../pick";
import { type Page, pageOf } from "../route";
import { distance } from "../say";
import { keeper } from "../state";
import { t } from "../words";
import { Note } from "./log";
import { options } from "./options";
import { toStanding } from "./page";

const TAKES_S = 30;
/** Without a position after this long there are none, s. */
const PATIENCE_S = 12;
/** A phone that lies still strays less than this in half a minute, m; farther is a drive. */
const STRAYS_M = 8;
const LEAST = 5;
const MOST_NAMES = 4;

export interface Mean {
  readonly lat_deg: number;
  readonly lon_deg: number;
  readonly n: number;
  /** From the mean to the farthest, m. */
  readonly spread_m: number;
}

/** The mean of positions; null of none. */
export function meanOf(fixes: readonly { lat_deg: number; lon_deg: number }[]): Mean | null {
  const [first] = fixes;
  if (first === undefined) return null;
  const plane = new Plane(first.lat_deg, first.lon_deg);
  const points = fixes.map((fix) => plane.point(fix.lon_deg, fix.lat_deg));
  const n = points.length;
  const x = points.reduce((sum, p) => sum + p[0], 0) / n;
  const y = points.reduce((sum, p) => sum + p[1], 0) / n;
  const [lon_deg, lat_deg] = plane.degrees(x, y);
  return { lat_deg, lon_deg, n, spread_m: points.reduce((far, p) => Math.max(far, Math.hypot(p[0] - x, p[1] - y)), 0) };
}

/** The pegs that were checked before, the last one first. */
export function namesOf(marks: readonly Mark[]): string[] {
  const pegs = marks.filter(isPeg);
  const names = pegs.sort((a, b) => b.t_ms - a.t_ms).map(({ says }) => String(says["name"]));
  return names.filter((name, at) => names.indexOf(name) === at).slice(0, MOST_NAMES);
}

export function pegPage(): Page {
  const note = new Note();
  const field = lineBox("peg", 40);
  const going = h("div", { role: "status", id: "going" });
  let end = (): void => undefined;
  const begin = (): void => {
    const name = field.value.trim();
    if (name === "") return note.say(t.stand.peg.unnamed);
    note.say("");
    const fixes: EntryOf<"fix">[] = [];
    const began = Date.now();
    const quiet = keeper().onWrite(({ entries }) => entries.forEach((entry) => entry.kind === "fix" && fixes.push(entry)));
    const timer = setInterval(() => {
      const gone = (Date.now() - began) / 1000;
      put(going, h("p", { class: "large" }, t.stand.peg.wait(Math.max(0, Math.ceil(TAKES_S - gone)), fixes.length)), button(t.stand.peg.stop, () => end()));
      if (fixes.length === 0 && gone > PATIENCE_S) finish(() => note.say(t.stand.peg.none));
      else if (gone >= TAKES_S) finish(() => void take(name, fixes));
    }, 500);
    end = () => {
      clearInterval(timer);
      quiet();
      put(going);
    };
    const finish = (then: () => void): void => {
      end();
      then();
    };
  };
  const take = async (name: string, fixes: readonly EntryOf<"fix">[]): Promise<void> => {
    const mean = meanOf(fixes);
    if (mean === null || mean.n < LEAST) return note.say(t.stand.peg.none);
    if (mean.spread_m > STRAYS_M) return note.say(t.stand.peg.moved(distance(mean.spread_m)));
    const { lat_deg, lon_deg, n } = mean;
    await note.write({ kind: "peg", t_ms: Date.now(), name, lat_deg: Number(lat_deg.toFixed(8)), lon_deg: Number(lon_deg.toFixed(8)), n }, t.stand.peg.done(name, n, distance(mean.spread_m)));
  };
  const known = h("div", {});
  const offer = async (): Promise<void> => {
    const names = namesOf(await keeper().marks());
    const chosen = (name: string): void => {
      field.value = name;
    };
    const named: Record<string, string> = {};
    names.forEach((name) => {
      named[name] = name;
    });
    if (names.length > 0) put(known, options(t.stand.peg.known, named, null, chosen));
  };
  void offer().catch(() => undefined); // without them a name is typed
  return pageOf(t.stand.peg.title, [h("p", {}, t.stand.peg.what), h("label", { for: "peg" }, t.stand.peg.name), known, field, button(t.stand.peg.act, begin, {}, "first"), going, note.body, toStanding()], () => end());
}
