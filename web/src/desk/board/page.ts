// The farm board: every paddock with its state, and first of all the one thing to do now.
import * as home from "../home";
import { h, put, type Child } from "../dom";
import { hear } from "../live";
import type { Board, BoardPaddock, PaddockLine, RigThing } from "../nouns";
import { to, type Page } from "../route";
import * as say from "../say";
import { desk } from "../state";
import { onTheme } from "../theme";
import { noteReach, show } from "../trouble";
import { t } from "../words";
import { paddockCard } from "./card";
import { firstThing } from "./first";
import { rivalsAt } from "./rivals";
import { startPage } from "./start";

interface Seen {
  board: Board;
  things: PaddockLine[];
  rigs: RigThing[];
}

export function boardPage(): Page {
  const inside = h("div", {});
  let seen: Seen | null = null;
  const parts = new Map<string, number>();
  let again: ReturnType<typeof setTimeout> | undefined;

  async function ask(): Promise<Seen> {
    const [board, things, rigs] = await Promise.all([home.board(desk.get().season), home.paddocks(), home.rigs()]);
    desk.set({ season: board.season, seasons: board.seasons });
    seen = { board, things, rigs };
    return seen;
  }
  const draw = (value: Seen): Child[] => whole(value, parts, () => void show(inside, ask, draw));

  void show(inside, ask, draw);
  const deaf = hear({
    work: (event) => {
      if (!seen || event.season !== seen.board.season) return;
      if (event.state === "computing") {
        parts.set(event.paddock, event.part ?? 0);
        const bar = inside.querySelector<HTMLProgressElement>(`#part-${CSS.escape(event.paddock)}`);
        if (bar) bar.value = event.part ?? 0;
        else soon();
      } else {
        parts.delete(event.paddock);
        soon();
      }
    },
    board: () => soon(),
    missed: () => soon(),
  });
  // many events come together; the board is asked once for all of them
  function soon(): void {
    clearTimeout(again);
    again = setTimeout(() => {
      ask().then((value) => put(inside, draw(value)), noteReach);
    }, 400);
  }
  const lit = onTheme(() => seen && put(inside, draw(seen)));
  return {
    title: t.board.title,
    body: h("div", { class: "page" }, inside),
    close: () => {
      clearTimeout(again);
      deaf();
      lit();
    },
  };
}

function whole({ board, things, rigs }: Seen, parts: ReadonlyMap<string, number>, changed: () => void): Child[] {
  if (!board.paddocks.length || !rigs.length) {
    return [h("h1", {}, t.start.title), startPage(board, rigs, changed), list(board, things, parts)];
  }
  const first = firstThing(board);
  return [
    h("div", { class: "title-row" }, h("h1", {}, t.board.title), seasonChoice(board, changed)),
    ...rivalsAt(board, Date.now()),
    h(
      "section",
      { class: "lead", "aria-label": t.lead },
      h("p", {}, first.text),
      first.href && h("a", { class: "button first", href: first.href }, first.act),
    ),
    list(board, things, parts),
    first.href !== to.newPaddock && unplaced(board),
    h("p", { class: "row" }, h("a", { class: "button plain", href: to.newPaddock }, t.board.add)),
    phones(board),
  ];
}

/** What lies nowhere is not to wait until all else is done: it may be another place's file. */
function unplaced({ unplaced: { fixes, days } }: Board): Child {
  return fixes > 0 && h("p", { id: "unplaced" }, t.first.unplaced(say.count(fixes), days.map(say.dayShort).join(", ")), " ", t.first.elsewhere, " ", h("a", { href: to.newPaddock }, t.first.draw));
}

function list(board: Board, things: PaddockLine[], parts: ReadonlyMap<string, number>): Child {
  if (!board.paddocks.length) return null;
  const order = board.paddocks.toSorted((a, b) => rank(a) - rank(b) || a.name.localeCompare(b.name));
  return h(
    "ul",
    { class: "cards", "aria-label": t.board.title },
    order.map((paddock) =>
      paddockCard(paddock, board.season, things.find((thing) => thing.id === paddock.id)?.version ?? null, parts.get(paddock.id) ?? null),
    ),
  );
}

/** Loose ends stand first: a board is read from the top. */
function rank(paddock: BoardPaddock): number {
  if (paddock.state === "failed") return 0;
  if (paddock.questions) return 1;
  return ["loose ends", "computing", "part", "not begun", "sown"].indexOf(paddock.state) + 2;
}

function seasonChoice(board: Board, changed: () => void): Child {
  const all = [...new Set([...board.seasons, board.season])].toSorted((a, b) => b - a);
  if (all.length < 2) return h("p", { class: "season" }, t.board.season(board.season));
  const select = h("select", { id: "season" }, all.map((year) => h("option", { value: year, selected: year === board.season }, year)));
  select.addEventListener("change", () => {
    desk.set({ season: Number(select.value) });
    changed();
  });
  return h("p", { class: "season" }, h("label", { for: "season" }, t.board.seasonLabel), select);
}

function phones(board: Board): Child {
  const here = board.phones.filter((phone) => !phone.withdrawn_ms);
  return h(
    "section",
    { class: "quietly" },
    h("h2", {}, t.board.phones),
    here.length
      ? h("ul", { class: "lines" }, here.map((phone) => h("li", {}, h("strong", {}, phone.name), " ", phone.seen_ms ? t.board.heard(say.moment(phone.seen_ms)) : t.board.unheard)))
      : h("p", {}, t.board.noPhones, " ", h("a", { href: to.phones }, t.phones.pair)),
  );
}
