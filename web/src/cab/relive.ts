// The live picture made again from the log: when the page begins, and when an entry was taken back.
import type { Plane } from "../core/plane";
import { earlier } from "../core/told";
import type { Log, Mark, Rig } from "../core/words";
import { Live } from "./live";
import type { Fence } from "./edge";

/** Fixes between two breaths. */
const SLICE = 100;
/** Earlier work than this is not painted again, ms: the farm pack brings it. */
export const BACK_MS = 48 * 3_600_000;

/** What the picture is made of, beside the log. `fence` in degrees is put on the plane by the caller. */
export interface Ground {
  readonly rigs: readonly Rig[];
  readonly fenceOn: (plane: Plane) => Fence | null;
}

/** The lever and the seed as the last entries have them. */
export interface Left {
  readonly down: boolean;
  readonly flowing: boolean;
  /** The last lever entry that was not taken back. */
  readonly lever: Mark | null;
}

/** What the marks of the phones that kept the log leave: undone ones are of another kind. */
export function leftBy(marks: readonly Mark[], devs: readonly string[]): Left {
  const mine = leversAndFlow(marks, devs);
  const lever = mine.filter(({ kind }) => kind === "lever");
  const flow = mine.filter(({ kind }) => kind === "flow");
  const last = lever[lever.length - 1] ?? null;
  return { down: last?.says["lever"] === "down", flowing: flow[flow.length - 1]?.says["flow"] !== "off", lever: last };
}

/** Paints what some phones logged one after another; gives the hand back between slices, and the picture at the end. */
export function* relive(log: Log, devs: readonly string[], ground: Ground, plane: Plane, first_ms: number): Generator<void, Live, void> {
  const live = new Live(plane, ground.rigs, ground.fenceOn(plane), first_ms);
  const { fixes } = log;
  const rows = inOrder(fixes, devs);
  const marks = leversAndFlow(log.marks, devs);
  let next = 0;
  const upTo = (t_ms: number): void => {
    for (let mark = marks[next]; mark !== undefined && mark.t_ms <= t_ms; mark = marks[next]) {
      tell(live, mark);
      next += 1;
    }
  };
  for (let k = 0; k < rows.length; k++) {
    const i = rows[k] ?? 0;
    upTo(at(fixes.t_ms, i));
    live.fix({
      t_ms: at(fixes.t_ms, i),
      lat_deg: at(fixes.lat_deg, i),
      lon_deg: at(fixes.lon_deg, i),
      acc_m: at(fixes.acc_m, i),
      speed_m_s: at(fixes.speed_m_s, i),
      course_deg: at(fixes.course_deg, i),
    });
    if (k % SLICE === SLICE - 1) yield;
  }
  upTo(Infinity);
  return live;
}

/** The rows of some phones in the order of time; sorted only where they are not. */
function inOrder({ t_ms, phone, phones }: Log["fixes"], devs: readonly string[]): number[] {
  const mine = phones.map((label) => devs.indexOf(label) >= 0);
  const rows: number[] = [];
  let sorted = true;
  for (let i = 0; i < t_ms.length; i++) {
    if (mine[phone[i] ?? 0] !== true) continue;
    sorted = sorted && !(at(t_ms, i) < at(t_ms, rows[rows.length - 1] ?? i));
    rows.push(i);
  }
  return sorted ? rows : rows.sort((a, b) => at(t_ms, a) - at(t_ms, b));
}

const at = (column: ArrayLike<number>, i: number): number => column[i] ?? Number.NaN;

function leversAndFlow(marks: readonly Mark[], devs: readonly string[]): Mark[] {
  const mine = marks.filter(({ kind, phone }) => devs.indexOf(phone) >= 0 && (kind === "lever" || kind === "flow"));
  return mine.sort(earlier);
}

function tell(live: Live, { kind, says, t_ms }: Mark): void {
  const since = says["since_ms"];
  if (kind === "lever") live.lever(says["lever"] === "down", t_ms);
  else live.flow(says["flow"] === "on", t_ms, typeof since === "number" ? since : null);
}
