// A count that a page waits for: how far it is, then what came out, or why nothing did.
import { askedHere, drop, join } from "../ahead";
import { button, h, put } from "../dom";
import type { Sums } from "../sums";
import { t } from "../words";

/** Counts where one stands, the one that goes on already or a new one; what it returns ends the waiting. */
export function countHere(into: Element, done: (sums: Sums, again: HTMLElement) => void): () => void {
  let end = (): void => undefined;
  const count = (): void => {
    const said = h("p", { role: "status", id: "counting" }, t.gate.counting("reading", 0));
    put(into, said);
    end();
    end = join(askedHere(), {
      stage: (stage, part) => put(said, t.gate.counting(stage, Math.round(part * 100))),
      first: () => undefined,
      done: (sums) => done(sums, again()),
      failed: ({ code, message }) => put(into, h("p", { class: "said" }, t.gate.trouble[code] ?? `${t.gate.failed} ${message}`), again()),
    });
  };
  const again = (): HTMLElement =>
    button(t.gate.again, () => {
      drop();
      count();
    });
  count();
  return () => end();
}
