// Peg checks of the season: how the picture of the satellites drifted, peg by peg.
import * as home from "../home";
import { h, on, s, type Child } from "../dom";
import type { Peg } from "../nouns";
import * as say from "../say";
import { show } from "../trouble";
import { t } from "../words";
import { off, reach, scatters, type Scatter } from "./scatter";

/** Asks only when it is opened: it has to look through every paddock that was worked in. */
export function pegsPanel(): HTMLElement {
  const inside = h("div", {});
  let asked = false;
  const made = h("details", { id: "pegs" }, h("summary", {}, t.phones.pegs), inside);
  return on(made, {
    toggle: () => {
      if (made.open && !asked) void show(inside, read, drawn);
      asked = true;
    },
  });
}

async function read(): Promise<Peg[]> {
  const board = await home.board();
  const worked = board.paddocks.filter((paddock) => paddock.last_day);
  const works = await Promise.all(worked.map((paddock) => home.work(paddock.id, board.season)));
  return works.flatMap((work) => work.pegs ?? []);
}

function drawn(pegs: readonly Peg[]): Child[] {
  const found = scatters(pegs);
  if (!found.length) return [h("p", {}, t.phones.noPegs)];
  return [h("p", {}, t.phones.pegsWhat), h("ul", { class: "cards" }, found.map(card))];
}

function card({ name, checks }: Scatter): HTMLElement {
  const alone = checks.length < 2;
  return h(
    "li",
    { class: "card peg" },
    !alone && picture(checks),
    h(
      "div",
      { class: "card-words" },
      h("h3", {}, t.phones.peg(name)),
      h("ul", { class: "lines" }, checks.map((check) => h("li", {}, `${say.moment(check.t_ms)}, ${check.dev}${alone ? "" : `: ${say.metres(off(check))}`}`))),
      alone && h("p", { class: "under" }, t.phones.onePeg),
    ),
  );
}

const SIZE = 120;

function picture(checks: Scatter["checks"]): SVGElement {
  const rim = reach(checks);
  const scale = (SIZE / 2 - 14) / rim;
  return s(
    "svg",
    { viewBox: `0 0 ${SIZE} ${SIZE}`, width: SIZE, height: SIZE, "aria-hidden": "true", class: "scatter" },
    s("circle", { cx: SIZE / 2, cy: SIZE / 2, r: rim * scale }),
    s("path", { d: `M${SIZE / 2} ${SIZE / 2 - 5}v10M${SIZE / 2 - 5} ${SIZE / 2}h10` }),
    checks.map((check) => s("circle", { class: "check-dot", cx: SIZE / 2 + check.east_m * scale, cy: SIZE / 2 - check.north_m * scale, r: 4 })),
    s("text", { x: SIZE / 2, y: SIZE - 1, "text-anchor": "middle" }, say.metres(rim)),
  );
}
