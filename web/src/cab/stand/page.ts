// The standing page: what is pending on top, then what one does when one stands.
import { bins } from "../bins";
import { button, h, put } from "../dom";
import { go, has, type Page, pageOf } from "../route";
import { backButton } from "../shell";
import { t } from "../words";
import { binLines, known, timeLines } from "./bins";
import { questionBox } from "./questions";

const TILES = ["fill", "stop", "peg", "gate", "over", "leave", "outs", "lap", "slip"] as const;
/** What stands behind a tile, where it is not called the same. */
const BEHIND: Partial<Record<(typeof TILES)[number], string>> = { leave: "gate" };

export function standingPage(): Page {
  const box = questionBox();
  const aboard = h("div", { id: "aboard" });
  const ends = bins.watch(["bins"], () => put(aboard, ...binLines(known()), ...timeLines()));
  const close = (): void => {
    ends();
    box.close();
  };
  return pageOf(
    t.stand.title,
    [
      box.body,
      aboard,
      h(
        "nav",
        { class: "pairs", "aria-label": t.stand.title },
        TILES.map((name) => button(t.stand.tiles[name], () => go(BEHIND[name] ?? name), { "data-page": name })),
      ),
      toPad(),
      has("work") ? backButton() : null,
      has("off") ? button(t.work.stop.title, () => go("off"), { "data-page": "off" }) : null,
    ],
    close,
  );
}

/** The way back to the pad, or to the first page where there is none. */
export function toPad(): HTMLElement {
  return has("work") ? button(t.stand.back, () => go("work"), { id: "to-pad" }, "first") : backButton();
}

/** The way back to the standing page. */
export const toStanding = (): HTMLElement => button(t.back, () => go("standing"));
