// Every request the desk makes of the home service, by name.
import { call } from "./call";
import type * as n from "./nouns";

const path = (...parts: (string | number)[]): string => `/api/${parts.map((p) => encodeURIComponent(p)).join("/")}`;
const query = (values: Record<string, string | number | null | undefined>): string => {
  const given = Object.entries(values).flatMap(([key, value]) =>
    value === null || value === undefined ? [] : [[key, String(value)]],
  );
  return given.length ? `?${new URLSearchParams(given).toString()}` : "";
};

export const hello = (): Promise<n.Hello> => call("GET", path("hello"));
export const enter = (passphrase: string): Promise<null> => call("POST", path("session"), { passphrase });
export const leave = (): Promise<null> => call("DELETE", path("session"));

export const settings = (): Promise<n.Settings> => call("GET", path("settings"));
export const saveSettings = (given: Partial<n.Settings>, based: number): Promise<n.Settings> =>
  call("PUT", path("settings"), { ...given, based_on: based });

export const board = (season?: number | null): Promise<n.Board> => call("GET", path("board") + query({ season }));
export const paddocks = (): Promise<n.PaddockLine[]> => call("GET", path("paddocks"));
export const paddock = (id: string, version?: number): Promise<n.PaddockThing> =>
  call("GET", path("paddocks", id) + query({ version }));
export const addPaddock = (geojson: n.Collection): Promise<n.Saved & { id: string }> =>
  call("POST", path("paddocks"), { geojson });
export const savePaddock = (id: string, based: number, geojson: n.Collection, why: string): Promise<n.Saved> =>
  call("PUT", path("paddocks", id), { based_on: based, geojson, why });
export const putAwayPaddock = (id: string): Promise<null> => call("DELETE", path("paddocks", id));
export const bringBackPaddock = (id: string): Promise<null> => call("POST", path("paddocks", id, "back"), {});
export const readBoundary = (file: File): Promise<n.Brought> => {
  const form = new FormData();
  form.append("file", file);
  return call("POST", path("paddocks", "read"), form);
};
export const lapBoundary = (season: number, day: string, dev?: string): Promise<n.Brought> =>
  call("POST", path("paddocks", "lap"), { season, day, ...(dev ? { dev } : {}) });

export const rigs = (): Promise<n.RigThing[]> => call("GET", path("rigs"));
export const rig = (id: string): Promise<n.RigThing> => call("GET", path("rigs", id));
export const addRig = (card: n.Card): Promise<n.Saved & { id: string }> => call("POST", path("rigs"), { card });
export const saveRig = (id: string, based: number, card: n.Card, why: string): Promise<n.Saved> =>
  call("PUT", path("rigs", id), { based_on: based, card, why });
export const sketch = (id: string, version: number): string =>
  path("rigs", id, "sketch.svg") + query({ version });

export const work = (id: string, season: number): Promise<n.Work> => call("GET", path("work", id) + query({ season }));
export const ground = (id: string, season: number): Promise<n.Collection> =>
  call("GET", path("work", id, "ground") + query({ season }));
export const timeline = (id: string, season: number, day: string): Promise<n.Timeline> =>
  call("GET", path("work", id, "timeline") + query({ season, day }));
export const tryEntries = (id: string, season: number, entries: n.Entry[]): Promise<{ job: string }> =>
  call("POST", path("work", id, "try"), { season, entries });
export const job = (id: string): Promise<n.Job> => call("GET", path("jobs", id));
export const addEntries = (entries: n.Entry[]): Promise<{ seq: number[] }> => call("POST", path("entries"), { entries });

export const slip = (day: string): Promise<n.Slip> => call("GET", path("slip", day));
export const fillColumns = (): Promise<n.FillColumn[]> => call("GET", path("fills"));
export const addFills = (day: string, rows: Record<string, string>[], where: string, same_mark: boolean): Promise<n.FillsKept> =>
  call("POST", path("fills"), { day, rows, paddock: where, same_mark });
export const yard = (): Promise<n.Yard> => call("GET", path("yard"));
export const phones = (): Promise<n.Phone[]> => call("GET", path("phones"));
export const disputes = (): Promise<n.Dispute[]> => call("GET", path("disputes"));
export const pair = (may: "keeper" | "rider", name: string): Promise<n.Pairing> =>
  call("POST", path("pairings"), { may, name });
export const withdraw = (dev: string): Promise<null> => call("DELETE", path("phones", dev));

export const carryIn = (file: File): Promise<n.Taken> => {
  const form = new FormData();
  form.append("file", file);
  return call("POST", path("carry", "in"), form);
};
export const carryOut = (name: string, what: Record<string, string | number | null | undefined>): string =>
  path("carry", "out", name) + query(what);

export const pack = (year: number): string => path("pack") + query({ season: year });

export const season = (year: number): Promise<n.Season> => call("GET", path("season", year));
export const forgetSeason = (year: number): Promise<{ entries: number }> =>
  call("DELETE", path("season", year), { confirm: String(year) });
