// Carry out: the ground, the patches, the track or the log of a paddock, in open formats.
import * as home from "../home";
import { h, on, put, type Child } from "../dom";
import type { PaddockLine } from "../nouns";
import { desk } from "../state";
import { show } from "../trouble";
import { t } from "../words";

const FILES = ["ground.geojson", "patches.csv", "track.gpx", "log.jsonl"] as const;

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
      FILES.map((name) => {
        const of = { paddock: which.value, season: season.value, ...(name === "ground.geojson" || name === "patches.csv" ? {} : { day: day.value || null }) };
        return h("li", { class: "line" }, h("div", {}, h("strong", {}, t.carry.files[name][0]), h("span", { class: "under" }, t.carry.files[name][1])), h("a", { class: "button plain", href: home.carryOut(name, of), download: name, "aria-label": t.carry.save(t.carry.files[name][0]) }, t.carry.saveShort));
      }),
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
