// Carry out: the ground, the patches, the track or the log of a paddock, in open formats.
import * as home from "../home";
import { h, on, put, type Child } from "../dom";
import type { PaddockLine } from "../nouns";
import { desk } from "../state";
import { show } from "../trouble";
import { t } from "../words";

type Of = "paddock" | "season" | "day";
/** What can be carried out, the file it comes in, and which of the three choices narrow it. */
const FILES = [
  { what: "ground", name: "ground.geojson", of: ["paddock", "season"] },
  { what: "patches", name: "patches.csv", of: ["paddock", "season"] },
  { what: "runs", name: "runs.csv", of: ["paddock", "season"] },
  { what: "track", name: "track.gpx", of: ["paddock", "season", "day"] },
  { what: "log", name: "log.jsonl", of: ["paddock", "season", "day"] },
  { what: "days", name: "days.csv", of: ["season"] },
  { what: "whole", name: "log.jsonl", of: ["season"] },
] as const;

export function takeOut(): HTMLElement {
  const inside = h("div", {});
  void show(inside, home.paddocks, (paddocks) => form(paddocks, desk.get().seasons));
  return h("section", { class: "panel" }, h("h2", {}, t.carry.out), h("p", {}, t.carry.outWhat), inside);
}

function form(paddocks: readonly PaddockLine[], seasons: readonly number[]): Child | Child[] {
  if (!paddocks.length) return h("p", {}, t.carry.nothing);
  const which = h("select", { id: "out-paddock" }, paddocks.map((one) => h("option", { value: one.id }, one.name)));
  const season = h("select", { id: "out-season" }, seasons.map((year) => h("option", { value: year }, year)));
  const day = h("select", { id: "out-day" });
  const links = h("ul", { class: "rows" });
  const draw = (): void =>
    put(
      links,
      FILES.map(({ what, name, of }) => {
        const chosen: Record<Of, string | null> = { paddock: which.value, season: season.value, day: day.value || null };
        const query = Object.fromEntries(of.map((key) => [key, chosen[key]]));
        return line(t.carry.files[what], home.carryOut(name, query), name);
      }),
      line(t.carry.files.pack, home.pack(Number(season.value)), "farm-pack.json"),
    );
  async function days(): Promise<void> {
    const found = await home.work(which.value, Number(season.value)).catch(() => null);
    put(day, h("option", { value: "" }, t.carry.everyDay), (found?.days ?? []).map((one) => h("option", { value: one }, one)));
    draw();
  }
  on(which, { change: () => void days() });
  on(season, { change: () => void days() });
  on(day, { change: draw });
  void days();
  const field = (id: string, label: string, select: HTMLElement): HTMLElement => h("p", { class: "field" }, h("label", { for: id }, label), select);
  return [h("div", { class: "row" }, field("out-paddock", t.carry.paddock, which), field("out-season", t.board.seasonLabel, season), field("out-day", t.carry.day, day)), links];
}

function line([title, what]: readonly [string, string], href: string, name: string): HTMLElement {
  return h("li", { class: "line" }, h("div", {}, h("strong", {}, title), h("span", { class: "under" }, what)), h("a", { class: "button plain", href, download: name, "aria-label": t.carry.save(title) }, t.carry.saveShort));
}
