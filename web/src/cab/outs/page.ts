// Marking ground that is not to be sown: where the phone is, or abeam of it.
import type { Mark } from "../../core/words";
import { Plane } from "../../core/plane";
import { newest } from "../pick";
import type { Draft } from "../../keep/entry";
import { button, h, put } from "../dom";
import type { Page } from "../route";
import { distance } from "../say";
import { keeper } from "../state";
import { Note } from "../stand/log";
import { options, stepper } from "../stand/options";
import { toStanding } from "../stand/page";
import { t } from "../words";
import { KEEP_OUT } from "./marked";

type Kind = keyof typeof t.stand.outs.kinds;
type Side = keyof typeof t.stand.outs.side;

const DAY_MS = 86_400_000;
/** A position older than this is not where the phone is, ms. */
const FRESH_MS = 60_000;
/** A speed below this gives no course, m/s. */
const SLOW_M_S = 0.5;
const LOOK_BACK_MS = 10 * 60_000;

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

export function outsPage(): Page {
  const chosen: { kind: Kind; side: Side; away_m: number; radius_m: number; days: number } = { kind: "stone", side: "here", away_m: 5, radius_m: 3, days: 14 };
  const note = new Note();
  const more = h("div", {});
  const list = h("div", {});
  const metres = { least: 1, most: 200, step: 1, say: distance };
  const ask = (): void =>
    put(
      more,
      chosen.side === "here" ? null : stepper(t.stand.outs.distance, chosen.away_m, metres, (m) => (chosen.away_m = m)),
      chosen.kind === "wet" ? stepper(t.stand.outs.kinds.wet, chosen.days, { least: 1, most: 90, step: 1, say: t.stand.outs.until }, (days) => (chosen.days = days)) : null,
      chosen.kind === "wire" || chosen.kind === "pole" ? h("p", {}, t.stand.outs.wires) : null,
    );
  const mark = async (): Promise<void> => {
    const now_ms = Date.now();
    const here = await whereNow(now_ms);
    if (here === null) return note.say(t.stand.outs.none);
    const { kind, side, away_m, radius_m, days } = chosen;
    if (side !== "here" && !Number.isFinite(here.course_deg)) return note.say(t.stand.outs.course);
    const place = side === "here" ? here : abeam(here, side, away_m);
    const draft: Draft = {
      kind: "mark",
      t_ms: now_ms,
      what: kind,
      side,
      ...(side === "here" ? {} : { distance_m: away_m }),
      lat_deg: Number(place.lat_deg.toFixed(8)),
      lon_deg: Number(place.lon_deg.toFixed(8)),
      radius_m,
      note: KEEP_OUT,
      ...(kind === "wet" ? { until_ms: now_ms + days * DAY_MS } : {}),
    };
    if (await note.write(draft, t.stand.outs.done(t.stand.outs.kinds[kind], distance(radius_m)))) await show();
  };
  const show = async (): Promise<void> => {
    const marks = (await keeper().marks()).filter(({ kind, says }) => kind === "mark" && says["note"] === KEEP_OUT);
    if (marks.length === 0) put(list);
    else put(list, h("h2", {}, t.stand.outs.list), h("p", {}, t.stand.outs.home), marks.map(row));
  };
  const row = (marked: Mark): HTMLElement => {
    const kind = String(marked.says["what"]) as Kind;
    const out = async (): Promise<void> => {
      const undo: Draft = { kind: "undo", t_ms: Date.now(), of: marked.seq, ...(marked.phone === keeper().dev ? {} : { of_dev: marked.phone }) };
      if (await note.write(undo, t.stand.outs.undo)) await show();
    };
    return h("p", {}, `${t.stand.outs.kinds[kind] ?? kind}, ${distance(Number(marked.says["radius_m"]))}`, button(t.stand.outs.undo, () => void out()));
  };
  ask();
  void show().catch(() => undefined); // the frame says when the log cannot be read
  const body = h(
    "div",
    { class: "page" },
    h("h1", {}, t.stand.outs.title),
    h("p", {}, t.stand.outs.what),
    options(t.stand.outs.title, t.stand.outs.kinds, chosen.kind, (kind) => {
      chosen.kind = kind;
      ask();
    }),
    options(t.stand.outs.distance, t.stand.outs.side, chosen.side, (side) => {
      chosen.side = side;
      ask();
    }),
    more,
    stepper(t.stand.outs.radius, chosen.radius_m, metres, (m) => (chosen.radius_m = m)),
    button(t.stand.outs.act, () => void mark(), {}, "first"),
    note.body,
    list,
    toStanding(),
  );
  return { title: t.stand.outs.title, body };
}
