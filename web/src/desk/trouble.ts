// What a page shows while it waits, and when something went wrong: what, where, what to do.
import { CallError } from "./call";
import { button, h, put, type Child } from "./dom";
import { desk } from "./state";
import { t } from "./words";

/** A panel about an error; `again` is what its button does. */
export function trouble(error: unknown, again?: () => void): HTMLElement {
  return h(
    "div",
    { class: "panel trouble", role: "alert" },
    h("h2", {}, t.trouble.title),
    h("p", {}, reason(error)),
    error instanceof CallError && error.where && h("p", {}, `${t.trouble.where} ${error.where}`),
    error instanceof CallError && error.hint && h("p", {}, error.hint),
    again && h("p", {}, button(t.trouble.again, again)),
  );
}

/** An error in one sentence. */
export function reason(error: unknown): string {
  if (error instanceof CallError) {
    if (error.status === 0) return t.trouble.unreachable;
    return error.message || t.trouble.status(error.status);
  }
  return error instanceof Error && error.message ? error.message : t.trouble.unknown;
}

/** An error with its hint, as one text. */
export const reasonAndHint = (error: unknown): string =>
  [reason(error), error instanceof CallError ? error.hint : ""].filter(Boolean).join(" ");

/**
 * Asks, then shows what came, or the trouble with a button to ask again. The words for waiting come
 * only after a moment, so that what is there at once does not flicker.
 */
export async function show<T>(into: Element, ask: () => Promise<T>, shown: (value: T) => Child | readonly Child[]): Promise<void> {
  const waiting = setTimeout(() => put(into, h("p", { class: "waiting" }, t.waiting)), 300);
  try {
    const value = await ask();
    clearTimeout(waiting);
    desk.set({ reached: true });
    put(into, shown(value));
  } catch (error) {
    clearTimeout(waiting);
    noteReach(error);
    put(into, trouble(error, () => void show(into, ask, shown)));
  }
}

/** Keeps in mind that the service could not be reached, or that it wants to know who this is. */
export function noteReach(error: unknown): void {
  if (!(error instanceof CallError)) {
    reportError(error); // a fault of these pages: it belongs in the browser's own list
    return;
  }
  if (error.status === 0) desk.set({ reached: false });
  if (error.status === 401) {
    const hello = desk.get().hello;
    if (hello && hello.who !== "nobody") desk.set({ hello: { ...hello, who: "nobody" } });
  }
}
