// Which page an address means. Addresses are real: they can be kept, shared and reloaded.

export interface Page {
  /** What stands in the browser's title and in the page's heading. */
  title: string;
  body: Node;
  /** Whether something on it would be lost by leaving. */
  unsaved?: () => boolean;
  /** Ends what the page started: watchers, timers, maps. */
  close?: () => void;
}
export type Params = Record<string, string>;
export type Open = (params: Params) => Page;
export interface Route {
  pattern: string;
  load: () => Promise<Open>;
}

/** The parameters of `path` under `pattern` (`/desk/paddock/:id`), or null where it does not fit. */
export function match(pattern: string, path: string): Params | null {
  const wanted = pattern.split("/");
  const given = path.replace(/\/+$/, "").split("/");
  if (wanted.length !== given.length) return null;
  const params: Params = {};
  for (const [index, part] of wanted.entries()) {
    const value = given[index] ?? "";
    if (part.startsWith(":")) {
      if (!value) return null;
      try {
        params[part.slice(1)] = decodeURIComponent(value);
      } catch {
        return null;
      }
    } else if (part !== value) return null;
  }
  return params;
}

/** The first route that fits, with its parameters. */
export function find(routes: readonly Route[], path: string): { route: Route; params: Params } | null {
  for (const route of routes) {
    const params = match(route.pattern, path === "/" ? "/desk" : path);
    if (params) return { route, params };
  }
  return null;
}

/** Addresses by name, so that no page spells another's. */
export const to = {
  board: "/desk",
  /** A paddock's sheet; of the season looked at where none is named. */
  paddock: (id: string, season?: number): string => `/desk/paddock/${encodeURIComponent(id)}${season ? `?season=${season}` : ""}`,
  shape: (id: string): string => `/desk/paddock/${encodeURIComponent(id)}/shape`,
  bins: (id: string, season: number): string => `/desk/paddock/${encodeURIComponent(id)}/bins?season=${season}`,
  handover: (id: string, season: number): string => `/desk/paddock/${encodeURIComponent(id)}/handover?season=${season}`,
  newPaddock: "/desk/new-paddock",
  rigs: "/desk/rigs",
  rig: (id: string): string => `/desk/rig/${encodeURIComponent(id)}`,
  newRig: "/desk/new-rig",
  days: "/desk/days",
  day: (day: string): string => `/desk/day/${encodeURIComponent(day)}`,
  phones: "/desk/phones",
  carry: "/desk/carry",
  settings: "/desk/settings",
  prices: "/desk/settings/prices",
  rates: "/desk/settings/rate-test",
  planning: "/desk/settings/planning",
  season: (year: number): string => `/desk/season/${year}`,
};

/** Goes to another page without loading this one anew. */
export function go(path: string, replace = false): void {
  if (replace) history.replaceState(null, "", path);
  else history.pushState(null, "", path);
  dispatchEvent(new PopStateEvent("popstate"));
}
