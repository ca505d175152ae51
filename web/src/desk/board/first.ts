// What to do first on the board: one sentence and where it leads.
import type { Board } from "../nouns";
import { to } from "../route";
import * as say from "../say";
import { t } from "../words";

export interface First {
  text: string;
  act: string;
  href: string | null;
}

/** Most pressing first: what failed, what is asked, what lies nowhere, what is loose, what is next. */
export function firstThing(board: Board): First {
  const at = board.paddocks;
  const failed = at.find((p) => p.state === "failed");
  if (failed) return { text: t.first.failed(failed.name), act: t.first.see, href: to.paddock(failed.id, board.season) };
  const asking = most(at, (p) => p.questions);
  if (asking) return { text: t.first.asking(asking.name, asking.questions), act: t.first.answer, href: to.paddock(asking.id, board.season) };
  if (board.unplaced.fixes > 0) {
    const days = board.unplaced.days.map(say.dayShort).join(", ");
    return { text: t.first.unplaced(say.count(board.unplaced.fixes), days), act: t.first.draw, href: to.newPaddock };
  }
  const loose = most(at.filter((p) => p.state === "loose ends"), (p) => p.bare_ha ?? 0) ?? at.find((p) => p.state === "loose ends");
  if (loose) {
    return {
      text: t.first.loose(loose.name, loose.loose_ends, say.area(loose.bare_ha), say.band(loose.bare_low_ha ?? 0, loose.bare_high_ha ?? 0)),
      act: t.first.open(loose.name),
      href: to.paddock(loose.id, board.season),
    };
  }
  if (at.some((p) => p.state === "computing")) return { text: t.first.computing, act: "", href: null };
  if (at.every((p) => p.state === "not begun")) {
    return board.phones.some((phone) => !phone.withdrawn_ms)
      ? { text: t.first.nothing, act: t.first.bring, href: to.carry }
      : { text: t.first.noPhone, act: t.phones.pair, href: to.phones };
  }
  const day = at.map((p) => p.last_day).filter((d): d is string => Boolean(d)).toSorted().at(-1);
  return { text: t.first.done, act: t.first.slip, href: day ? to.day(day) : to.days };
}

function most<T>(all: readonly T[], of: (one: T) => number): T | undefined {
  return all.filter((one) => of(one) > 0).toSorted((a, b) => of(b) - of(a))[0];
}
