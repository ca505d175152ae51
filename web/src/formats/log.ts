// Our own log as lines <-> what the engine takes: the same rules as server/unsown/formats/log.py.
import { steady } from "../core/clock";
import { byTime } from "../core/told";
import type { Fixes, Log, Mark } from "../core/words";

/** Version of the log's format. */
export const VERSION = 1;
/** The kind of an entry that an `undo` names. */
export const HIDDEN = "hidden";
const FRAME = ["v", "dev", "seq", "t_ms", "kind"];

/** One line of a log: who wrote it, its number there, the moment, the kind, and the kind's fields. */
export interface Line {
  readonly dev: string;
  readonly seq: number;
  readonly t_ms: number;
  readonly kind: string;
  readonly [field: string]: unknown;
}

/** What a text of JSON lines holds: its entries in order, and how many lines were left out and why. */
export interface Lines {
  readonly lines: readonly Line[];
  readonly skipped: Readonly<Record<string, number>>;
}

/** Every line that is an entry with a writer and a number; what is none is counted by its reason. */
export function readLines(text: string): Lines {
  const lines: Line[] = [];
  const skipped: Record<string, number> = {};
  const rows = text.split("\n");
  rows.forEach((row, at) => {
    if (row.trim() === "") return;
    const found = lineOf(row, at === rows.length - 1);
    if (typeof found === "string") skipped[found] = (skipped[found] ?? 0) + 1;
    else lines.push(found);
  });
  return { lines, skipped };
}

function lineOf(row: string, last: boolean): Line | string {
  let says: unknown;
  try {
    says = JSON.parse(row);
  } catch {
    return last ? "last line, cut off" : "line that is not JSON";
  }
  if (typeof says !== "object" || says === null || Array.isArray(says)) return "line without a kind";
  const line = says as Record<string, unknown>;
  if (typeof line["kind"] !== "string") return "line without a kind";
  if (!Number.isInteger(line["t_ms"])) return "entry without t_ms";
  if (line["v"] !== undefined && line["v"] !== VERSION) return "entry of another version";
  const { dev, seq } = line;
  if (typeof dev !== "string" || dev === "" || !Number.isInteger(seq) || (seq as number) < 1) {
    return "entry without a writer and a number";
  }
  return line as unknown as Line;
}

/** A line as the mark it is. */
export function markOf(line: Line): Mark {
  const says: Record<string, unknown> = {};
  for (const key of Object.keys(line)) if (FRAME.indexOf(key) < 0) says[key] = line[key];
  return { t_ms: line.t_ms, kind: line.kind, phone: line.dev, seq: line.seq, says };
}

/**
 * The marks with those that an `undo` names turned into kind `hidden`. An `undo` names an entry by
 * `of`, one of its own writer or, with `of_dev`, of another. One that is itself undone hides nothing,
 * nor do those that undo each other in a ring; so the order of the marks does not matter.
 */
export function hide(marks: readonly Mark[]): Mark[] {
  const at = new Map<string, number>();
  marks.forEach((mark, i) => {
    if (mark.seq > 0) at.set(`${mark.phone} ${mark.seq}`, i);
  });
  const undoneBy = new Map<number, number[]>();
  const undos: number[] = [];
  marks.forEach((mark, i) => {
    if (mark.kind !== "undo") return;
    undos.push(i);
    const target = at.get(`${String(mark.says["of_dev"] ?? mark.phone)} ${String(mark.says["of"])}`);
    if (target === undefined || target === i) return;
    undoneBy.set(target, [...(undoneBy.get(target) ?? []), i]);
  });
  const holds = holding(undos, undoneBy);
  return marks.map((mark, i) => {
    const undone = (undoneBy.get(i) ?? []).some((j) => holds.get(j) === true);
    return undone ? { ...mark, kind: HIDDEN, says: { kind: mark.kind, ...mark.says } } : mark;
  });
}

/** Which undos hold: settled from those that nobody undoes; what is left is a ring. */
function holding(undos: readonly number[], undoneBy: ReadonlyMap<number, readonly number[]>): Map<number, boolean> {
  const holds = new Map<number, boolean>();
  let left = undos;
  for (;;) {
    const rest: number[] = [];
    for (const i of left) {
      const by = undoneBy.get(i) ?? [];
      if (by.some((j) => holds.get(j) === true)) holds.set(i, false);
      else if (by.every((j) => holds.has(j))) holds.set(i, true);
      else rest.push(i);
    }
    if (rest.length === left.length || rest.length === 0) return holds;
    left = rest;
  }
}

const numeric = (line: Line, key: string): number => {
  const value = line[key];
  return typeof value === "number" && Number.isFinite(value) ? value : Number.NaN;
};

/** Fixes and marks gathered row by row into what the engine takes. */
export class Gathering {
  private readonly rows: (Fixes & { seq: Float64Array })[] = [];
  private readonly loose: Line[] = [];
  private readonly marks: Mark[] = [];
  private readonly phones: string[] = [];

  /** Takes a line of any kind. */
  add(line: Line): void {
    if (line.kind === "fix") this.loose.push(line);
    else this.marks.push(markOf(line));
  }

  /** Takes columns as they are; `phone` is not looked at, all are of `dev`. */
  addColumns(dev: string, columns: Omit<Fixes & { seq: Float64Array }, "phone" | "phones">): void {
    this.settle();
    const count = columns.t_ms.length;
    this.rows.push({ ...columns, phone: new Int32Array(count).fill(this.number(dev)), phones: [] });
  }

  /**
   * Everything taken so far, as at home: marks by time, phones by their labels, so that it is the same in whatever
   * order it came.
   */
  log(): Log {
    this.settle();
    const { rows } = this;
    const phones = this.phones.slice().sort();
    const places = this.phones.map((phone) => phones.indexOf(phone));
    const fixes: Fixes = {
      t_ms: joined(rows.map((r) => r.t_ms)),
      lat_deg: joined(rows.map((r) => r.lat_deg)),
      lon_deg: joined(rows.map((r) => r.lon_deg)),
      acc_m: joined(rows.map((r) => r.acc_m)),
      speed_m_s: joined(rows.map((r) => r.speed_m_s)),
      course_deg: joined(rows.map((r) => r.course_deg)),
      phone: joinedInts(rows.map((r) => r.phone)).map((place) => places[place] ?? 0),
      segment: joinedInts(rows.map((r) => r.segment)),
      phones,
    };
    const log = steady({ fixes, marks: this.marks, skipped: [], notes: [] }, joined(rows.map((r) => r.seq)));
    return { ...log, marks: hide(log.marks.slice().sort(byTime)) };
  }

  private number(dev: string): number {
    const found = this.phones.indexOf(dev);
    return found >= 0 ? found : this.phones.push(dev) - 1;
  }

  /** Turns the fixes that came as lines into columns. */
  private settle(): void {
    const lines = this.loose.splice(0);
    if (lines.length === 0) return;
    const column = (key: string): Float64Array => Float64Array.from(lines, (line) => numeric(line, key));
    this.rows.push({
      seq: column("seq"),
      t_ms: column("t_ms"),
      lat_deg: column("lat_deg"),
      lon_deg: column("lon_deg"),
      acc_m: column("acc_m"),
      speed_m_s: column("speed_m_s"),
      course_deg: column("course_deg"),
      segment: Int32Array.from(lines, (line) => numeric(line, "segment") || 0),
      phone: Int32Array.from(lines, (line) => this.number(line.dev)),
      phones: [],
    });
  }
}

function joined(parts: readonly Float64Array[]): Float64Array {
  const out = new Float64Array(parts.reduce((sum, part) => sum + part.length, 0));
  let at = 0;
  for (const part of parts) {
    out.set(part, at);
    at += part.length;
  }
  return out;
}

function joinedInts(parts: readonly Int32Array[]): Int32Array {
  const out = new Int32Array(parts.reduce((sum, part) => sum + part.length, 0));
  let at = 0;
  for (const part of parts) {
    out.set(part, at);
    at += part.length;
  }
  return out;
}
