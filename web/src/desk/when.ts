// A time of day on the farm's clock -> UTC milliseconds.

const clocks = new Map<string, Intl.DateTimeFormat>();

/** How far a zone's clock is ahead of UTC at a moment, ms. */
function ahead(ms: number, zone: string): number {
  let clock = clocks.get(zone);
  if (!clock) {
    clock = new Intl.DateTimeFormat("en-GB", { timeZone: zone, hourCycle: "h23", year: "numeric", month: "2-digit", day: "2-digit", hour: "2-digit", minute: "2-digit", second: "2-digit" });
    clocks.set(zone, clock);
  }
  const part = Object.fromEntries(clock.formatToParts(ms).map(({ type, value }) => [type, Number(value)]));
  const wall = Date.UTC(part["year"] ?? 0, (part["month"] ?? 1) - 1, part["day"], part["hour"], part["minute"], part["second"]);
  return wall - Math.floor(ms / 1000) * 1000;
}

/**
 * The moment of a time such as `14:20` on a farm day such as `2026-05-14`; null: it is none. A time before
 * the day's start is that of the next morning.
 */
export function momentAt(day: string, time: string, zone: string, dayStart: string): number | null {
  const found = /^\s*(\d{1,2})[:.](\d{2})\s*$/.exec(time);
  const midnight = Date.parse(`${day}T00:00:00Z`);
  const [hours, minutes] = [Number(found?.[1]), Number(found?.[2])];
  if (!found || Number.isNaN(midnight) || hours > 23 || minutes > 59) return null;
  const [startHours = 0, startMinutes = 0] = dayStart.split(":").map(Number);
  const night = hours * 60 + minutes < startHours * 60 + startMinutes ? 86_400_000 : 0;
  const wall = midnight + night + (hours * 60 + minutes) * 60_000;
  const first = wall - ahead(wall, zone);
  return wall - ahead(first, zone);
}

/** The farm day of a moment, such as `2026-05-14`. */
export function dayOf(ms: number, zone: string, dayStart: string): string {
  const [hours = 0, minutes = 0] = dayStart.split(":").map(Number);
  return new Date(ms + ahead(ms, zone) - (hours * 60 + minutes) * 60_000).toISOString().slice(0, 10);
}
