// Sentences of a satellite receiver -> fixes: NMEA 0183, the open standard that receivers speak. RMC says
// where, when, how fast and which way; GST or else GGA says how well. Talkers (GP, GN, …) do not matter.

/** One position. NaN: not given. */
export interface NmeaFix {
  readonly t_ms: number;
  readonly lat_deg: number;
  readonly lon_deg: number;
  readonly acc_m: number;
  readonly speed_m_s: number;
  readonly course_deg: number;
}

const KNOT_M_S = 1852 / 3600;
/** 95 % of a round normal spread lies within so many sigmas. */
const ROUND_95 = 2.4477;
/** How well is known for no longer than this after it was said, ms. */
const HOLDS_MS = 3_000;

/** Whether a sentence's checksum is right; one without is not believed. */
export function sound(sentence: string): boolean {
  const parts = /^\$([^*]+)\*([0-9A-Fa-f]{2})$/.exec(sentence.trim());
  if (parts === null) return false;
  let sum = 0;
  for (let i = 0; i < (parts[1] ?? "").length; i++) sum ^= (parts[1] ?? "").charCodeAt(i);
  return sum === parseInt(parts[2] ?? "", 16);
}

/** Reads sentences as they come, in any pieces. */
export class Nmea {
  private rest = "";
  private acc_m = Number.NaN;
  private accAt_ms = Number.NaN;
  /** Sentences left out because they were damaged. */
  damaged = 0;

  /** The fixes that a further piece of text completes. */
  read(text: string): NmeaFix[] {
    const rows = (this.rest + text).split(/\r\n|\n|\r/);
    this.rest = (rows.pop() ?? "").slice(-1000);
    const out: NmeaFix[] = [];
    for (const row of rows) {
      if (row.trim() === "") continue;
      if (!sound(row)) {
        this.damaged += 1;
        continue;
      }
      const fix = this.sentence(row.trim().slice(1, -3).split(","));
      if (fix !== null) out.push(fix);
    }
    return out;
  }

  private sentence(fields: readonly string[]): NmeaFix | null {
    const kind = (fields[0] ?? "").slice(-3);
    if (kind === "GST") this.spread(timeOf(fields[1]), Number(fields[6] || "NaN"), Number(fields[7] || "NaN"));
    if (kind !== "RMC" || fields[2] !== "A") return null;
    const t_ms = momentOf(fields[1], fields[9]);
    const [lat_deg, lon_deg] = [degrees(fields[3], fields[4]), degrees(fields[5], fields[6])];
    if (!Number.isFinite(t_ms) || !Number.isFinite(lat_deg) || !Number.isFinite(lon_deg)) return null;
    const age = Math.abs((t_ms % 86_400_000) - this.accAt_ms);
    return {
      t_ms,
      lat_deg,
      lon_deg,
      acc_m: age <= HOLDS_MS ? this.acc_m : Number.NaN,
      speed_m_s: Number(fields[7] || "NaN") * KNOT_M_S,
      course_deg: Number(fields[8] || "NaN"),
    };
  }

  private spread(at_ms: number, lat_m: number, lon_m: number): void {
    this.acc_m = ROUND_95 * Math.sqrt((lat_m ** 2 + lon_m ** 2) / 2);
    this.accAt_ms = at_ms;
  }
}

/** `hhmmss.ss` as ms of the day. */
function timeOf(text: string | undefined): number {
  const parts = /^(\d\d)(\d\d)(\d\d(?:\.\d+)?)$/.exec(text ?? "");
  return parts === null ? Number.NaN : (Number(parts[1]) * 3600 + Number(parts[2]) * 60 + Number(parts[3])) * 1000;
}

/** Time and `ddmmyy` as UTC ms; two-digit years are of this century. */
function momentOf(time: string | undefined, date: string | undefined): number {
  const parts = /^(\d\d)(\d\d)(\d\d)$/.exec(date ?? "");
  if (parts === null) return Number.NaN;
  return Math.round(Date.UTC(2000 + Number(parts[3]), Number(parts[2]) - 1, Number(parts[1])) + timeOf(time));
}

/** `ddmm.mmm` or `dddmm.mmm` with its side of the world. */
function degrees(text: string | undefined, side: string | undefined): number {
  const parts = /^(\d{2,3})(\d\d(?:\.\d+)?)$/.exec(text ?? "");
  if (parts === null || !/^[NSEW]$/.test(side ?? "")) return Number.NaN;
  const value = Number(parts[1]) + Number(parts[2]) / 60;
  return side === "S" || side === "W" ? -value : value;
}
