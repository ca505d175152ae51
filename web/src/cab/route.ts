// Which page is shown. Pages have names, not addresses: the phone's back gesture must not lead a
// driver out of the page that logs.
import { h, put, type Children } from "./dom";
import { cab } from "./state";

/** A page as it stands on the screen; `close` is called when another takes its place. */
export interface Page {
  readonly title: string;
  readonly body: HTMLElement;
  readonly close?: (() => void) | undefined;
  /** The back gesture does not lead out of it. */
  readonly holds?: boolean;
}

/** A page with its title above what it holds. */
export const pageOf = (title: string, content: Children, close?: () => void): Page => ({ title, body: h("div", { class: "page" }, h("h1", {}, title), ...content), close });

/** A way to a page from the first one; null while there is none. */
export interface Tile {
  readonly text: () => string;
  readonly under?: () => string;
  /** Tiles stand in this order. */
  readonly order: number;
  readonly open?: () => boolean;
}

interface Place {
  readonly make: () => Page;
  readonly tile: Tile | null;
}

const places = new Map<string, Place>();
let shown: Page | null = null;
let stage: Element | null = null;
let fallback = "";

/** Makes a page known by its name. */
export function place(name: string, make: () => Page, tile: Tile | null = null): void {
  places.set(name, { make, tile });
}

/** Whether there is a page of that name. */
export const has = (name: string): boolean => places.has(name);

/** The tiles of every page that can be gone to now. */
export function tiles(): { name: string; tile: Tile }[] {
  const out: { name: string; tile: Tile }[] = [];
  places.forEach(({ tile }, name) => {
    if (tile !== null && (tile.open === undefined || tile.open())) out.push({ name, tile });
  });
  return out.sort((a, b) => a.tile.order - b.tile.order);
}

/** Shows a page in the place of the one that is shown. */
export function go(name: string): void {
  const found = places.get(name);
  if (found === undefined) throw new Error(`there is no page ${name}`);
  if (stage === null) throw new Error("no page can be shown before the frame stands");
  if (shown !== null && shown.close !== undefined) shown.close();
  cab.set({ page: name });
  shown = found.make();
  document.title = shown.title;
  put(stage, shown.body);
  window.scrollTo(0, 0);
}

/** Where pages are shown, and the page that the back gesture leads to. */
export function begin(into: Element, back: string): void {
  stage = into;
  fallback = back;
  window.history.pushState(null, "");
  window.addEventListener("popstate", () => {
    window.history.pushState(null, "");
    // while the tractor moves a slip of the hand changes nothing
    const holds = shown !== null && shown.holds === true;
    if (cab.get().standing && !holds && cab.get().page !== fallback) go(fallback);
  });
}
