// Two phones that both keep one log after a handover: said plainly, with what to do.
import { h, type Child } from "../dom";
import type { Board } from "../nouns";
import * as say from "../say";
import { t } from "../words";

/** Older than this it is settled: the log is what it is, ms. */
const NEWS_MS = 48 * 3_600_000;

/** What is to be said as of a moment; the phones by the names that they were given. */
export function rivalsAt({ rivals = [], phones }: Pick<Board, "rivals" | "phones">, now_ms: number): Child[] {
  const name = (dev: string): string => phones.find((phone) => phone.dev === dev)?.name || dev;
  return rivals
    .filter(({ until_ms }) => Math.abs(now_ms - until_ms) <= NEWS_MS)
    .map(({ earlier, later, since_ms, until_ms }) =>
      h(
        "section",
        { class: "panel rivals", role: "alert" },
        h("h2", {}, t.rivals.title(name(earlier), name(later))),
        h("p", {}, t.rivals.since(name(earlier), name(later), say.moment(since_ms), say.moment(until_ms))),
        h("p", {}, h("strong", {}, t.rivals.act(name(earlier), name(later)))),
        h("p", {}, t.rivals.rigs),
      ),
    );
}
