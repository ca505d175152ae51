// Marking ground that is not to be sown: where the phone is, abeam of it, or inside the loop driven last.
import type { Mark } from "../../core/words";
import { Plane } from "../../core/plane";
import { areaOf } from "../../core/rings";
import { newest, rigsFor } from "../pick";
import type { Draft, DraftOf } from "../../keep/entry";
import { button, h, put } from "../dom";
import { type Page, pageOf } from "../route";
import { distance, minute, size } from "../say";
import { cab, keeper } from "../state";
import { Note } from "../stand/log";
import { options, stepper } from "../stand/options";
import { toStanding } from "../stand/page";
import { t } from "../words";
import { lookForOuts } from "./known";
import { loopOf } from "../../core/loop";
import { KEEP_OUT, ringOf } from "./marked";

type Kind = keyof typeof t.stand.outs.kinds;
type Side = keyof typeof t.stand.outs.side;

const DAY_MS = 86_400_000;
/** A position older than this is not where the phone is, ms. */
const FRESH_MS = 60_000;
/** A speed below this gives no course, m/s. */
const SLOW_M_S = 0.5;
const LOOK_BACK_MS = 10 * 60_000;
/** A loop is looked for so far back, ms. */
const LOOP_BACK_MS = 30 * 60_000;

/** Presses of Mark that are offered, so far back and at most so many. */
const PRESSED = "pressed-";
const PRESSED_MS = 12 * 3_600_000;
const PRESSED_MOST = 4;

/** Where Mark was pressed on the way, the last one first; what tells of tines or keep-outs is not it. */
export function pressedOf(marks: readonly Mark[], now_ms: number): Mark[] {
  const plain = marks.filter(({ kind, says, t_ms }) => kind === "mark" && says["what"] === "mark" && typeof says["lat_deg"] === "number" && t_ms > now_ms - PRESSED_MS);
  return plain.sort((a, b) => b.t_ms - a.t_ms).slice(0, PRESSED_MOST);
}

export interface Here {
  readonly lat_deg: number;
  readonly lon_deg: number;
  /** Clockwise from north; NaN: not known. */
  readonly course_deg: number;
}

/** The place so far to the left or right of a course, degrees. */
export function abeam({ lat_deg, lon_deg, course_deg }: Here, side: "left" | "right", away_m: number): { lat_deg: number; lon_deg: number } {
  const bearing = ((course_deg + (side === "left" ? -90 : 90)) * Math.PI) / 180;
  const [lon, lat] = new Plane(lat_deg, lon_deg).degrees(away_m * Math.sin(bearing), away_m * Math.cos(bearing));
  return { lat_deg: lat, lon_deg: lon };
}

/** Where the phone is, by the log; the course is that of when it last moved. Null: nothing fresh. */
async function whereNow(now_ms: number): Promise<Here | null> {
  const fixes = await keeper().fixes(now_ms - LOOK_BACK_MS);
  const at = newest(fixes);
  if (at < 0 || now_ms - (fixes.t_ms[at] ?? 0) > FRESH_MS) return null;
  let course_deg = Number.NaN;
  fixes.course_deg.forEach((course, i) => {
    if ((fixes.speed_m_s[i] ?? 0) > SLOW_M_S && Number.isFinite(course)) course_deg = course;
  });
  return { lat_deg: fixes.lat_deg[at] ?? 0, lon_deg: fixes.lon_deg[at] ?? 0, course_deg };
}

interface Chosen {
  kind: Kind;
  side: Side;
  /** Where Mark was pressed on the way, chosen in place of a side; null: a side. */
  pressed: Mark | null;
  away_m: number;
  inset_m: number;
  radius_m: number;
  days: number;
}

export function outsPage(): Page {
  const chosen: Chosen = { kind: "stone", side: "here", pressed: null, away_m: 5, inset_m: 2, radius_m: 3, days: 14 };
  const words = t.stand.outs;
  const note = new Note();
  const more = h("div", {});
  const list = h("div", {});
  const where = h("div", {});
  const metres = { least: 1, most: 200, step: 1, say: distance };
  const ask = (): void => {
    const { kind } = chosen;
    const side = chosen.pressed === null ? chosen.side : "here";
    put(
      more,
      side === "left" || side === "right" ? stepper(words.distance, chosen.away_m, metres, (m) => (chosen.away_m = m)) : null,
      side === "loop" ? [h("p", {}, words.loop), stepper(words.inset, chosen.inset_m, { ...metres, most: 20 }, (m) => (chosen.inset_m = m))] : null,
      side === "loop" ? null : stepper(words.radius, chosen.radius_m, metres, (m) => (chosen.radius_m = m)),
      kind === "wet" ? stepper(words.kinds.wet, chosen.days, { least: 1, most: 90, step: 1, say: words.until }, (days) => (chosen.days = days)) : null,
      kind === "wire" || kind === "pole" ? h("p", {}, words.wires) : null,
    );
  };
  const mark = async (): Promise<void> => {
    const now_ms = Date.now();
    const made = chosen.pressed === null && chosen.side === "loop" ? await looped(chosen, now_ms) : await placed(chosen, now_ms);
    if (typeof made === "string") return note.say(made);
    const until = chosen.kind === "wet" ? { until_ms: now_ms + chosen.days * DAY_MS } : {};
    if (await note.write({ ...made, ...until }, words.done(words.kinds[chosen.kind], reach(made)))) await show();
  };
  const show = async (): Promise<void> => {
    await lookForOuts();
    const all = await keeper().marks();
    const pressed = pressedOf(all, Date.now());
    const names: Record<string, string> = { ...t.stand.outs.side };
    pressed.forEach(({ seq, t_ms }) => {
      names[`${PRESSED}${seq}`] = t.stand.outs.pressed(minute(t_ms));
    });
    const first = chosen.pressed === null ? chosen.side : `${PRESSED}${chosen.pressed.seq}`;
    const choose = (key: string): void => {
      chosen.pressed = pressed.find(({ seq }) => key === `${PRESSED}${seq}`) ?? null;
      if (chosen.pressed === null) chosen.side = key as Side;
      ask();
    };
    put(where, options(t.stand.outs.where, names, first, choose));
    const marks = all.filter(({ kind, says }) => kind === "mark" && says["note"] === KEEP_OUT);
    if (marks.length === 0) put(list);
    else put(list, h("h2", {}, t.stand.outs.list), h("p", {}, t.stand.outs.home), marks.map(row));
  };
  const row = (marked: Mark): HTMLElement => {
    const kind = String(marked.says["what"]) as Kind;
    const out = async (): Promise<void> => {
      const undo: Draft = { kind: "undo", t_ms: Date.now(), of: marked.seq, ...(marked.phone === keeper().dev ? {} : { of_dev: marked.phone }) };
      if (await note.write(undo, t.stand.outs.undo)) await show();
    };
    return h("p", {}, `${t.stand.outs.kinds[kind] ?? kind}, ${reach(marked.says)}`, button(t.stand.outs.undo, () => void out()));
  };
  ask();
  void show().catch(() => undefined); // the frame says when the log cannot be read
  return pageOf(t.stand.outs.title, [
    h("p", {}, t.stand.outs.what),
    h("h2", {}, t.stand.outs.which),
    options(t.stand.outs.which, t.stand.outs.kinds, chosen.kind, (kind) => {
      chosen.kind = kind;
      ask();
    }),
    h("h2", {}, t.stand.outs.where),
    where,
    more,
    button(t.stand.outs.act, () => void mark(), {}, "first"),
    note.body,
    list,
    toStanding(),
  ]);
}

type Marked = DraftOf<"mark">;

/** Round a place: here, or abeam. What is missing, in words, where it cannot be. */
async function placed({ kind, side, pressed, away_m, radius_m }: Chosen, now_ms: number): Promise<Marked | string> {
  const [lat_deg, lon_deg] = [pressed?.says["lat_deg"], pressed?.says["lon_deg"]];
  if (typeof lat_deg === "number" && typeof lon_deg === "number") return { kind: "mark", t_ms: now_ms, what: kind, side: "here", ...degrees({ lat_deg, lon_deg }), radius_m, note: KEEP_OUT };
  const here = await whereNow(now_ms);
  if (here === null) return t.stand.outs.none;
  const aside = side === "left" || side === "right";
  if (aside && !Number.isFinite(here.course_deg)) return t.stand.outs.course;
  const place = aside ? abeam(here, side, away_m) : here;
  return { kind: "mark", t_ms: now_ms, what: kind, side: aside ? side : "here", ...(aside ? { distance_m: away_m } : {}), ...degrees(place), radius_m, note: KEEP_OUT };
}

/** Inside the loop that was driven last. */
async function looped({ kind, inset_m }: Chosen, now_ms: number): Promise<Marked | string> {
  const log = await keeper().log(now_ms - LOOP_BACK_MS);
  const loop = log.fixes.t_ms.length < 3 ? null : loopOf(log, rigsFor(log.marks, cab.get().pack?.rigs ?? []), inset_m);
  if (loop === null) return t.stand.outs.noLoop;
  const ring = loop.ring.map(([lon, lat]): [number, number] => [Number(lon.toFixed(7)), Number(lat.toFixed(7))]);
  return { kind: "mark", t_ms: now_ms, what: kind, side: "here", ...degrees(loop), ring, note: KEEP_OUT };
}

const degrees = ({ lat_deg, lon_deg }: { lat_deg: number; lon_deg: number }): { lat_deg: number; lon_deg: number } => ({ lat_deg: Number(lat_deg.toFixed(8)), lon_deg: Number(lon_deg.toFixed(8)) });

/** How far it reaches, in words: a radius, or the ground inside a loop. */
function reach(says: Readonly<Record<string, unknown>>): string {
  const ring = ringOf(says["ring"]);
  if (ring === null) return t.stand.outs.round(distance(Number(says["radius_m"])));
  const plane = new Plane(ring[1] ?? 0, ring[0] ?? 0);
  return t.stand.outs.looped(size(areaOf(plane.areaToXy([[ring]]))));
}
