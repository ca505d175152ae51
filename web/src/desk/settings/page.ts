// The farm's settings: its name, its units and words, its clock; and this browser's light.
import * as home from "../home";
import { button, h, on, put, type Child } from "../dom";
import { notice } from "../notice";
import type { Settings } from "../nouns";
import { to, type Page } from "../route";
import { desk } from "../state";
import { choose, chosen, type Theme } from "../theme";
import { noteReach, reasonAndHint, show } from "../trouble";
import { speak, t } from "../words";

const THEMES: readonly Theme[] = ["as-computer", "light", "dark"];

export function settingsPage(): Page {
  const inside = h("div", {});
  const read = (): Promise<void> => show(inside, home.settings, (settings) => form(settings, () => void read()));
  void read();
  return { title: t.pages.settings, body: h("div", { class: "page narrow" }, h("h1", {}, t.pages.settings), inside, money(), themes(), seasons(), door()) };
}

function form(settings: Settings, saved: () => void): HTMLElement {
  const said = h("p", { class: "wrong", role: "alert" });
  const text = (name: string, label: string, value: string, under = "", more: Record<string, string> = {}): HTMLElement =>
    h("div", { class: "field" }, h("label", { for: `set-${name}` }, label), h("input", { id: `set-${name}`, name, type: "text", autocomplete: "off", value, ...more }), under && h("span", { class: "under" }, under));
  const choice = (name: "units" | "land", legend: string, options: [string, string][], value: string): HTMLElement =>
    h("fieldset", { class: "choices" }, h("legend", {}, legend), options.map(([key, words]) => h("label", { class: "choice" }, h("input", { type: "radio", name, value: key, checked: key === value }), h("span", {}, words))));
  const zones = typeof Intl.supportedValuesOf === "function" ? Intl.supportedValuesOf("timeZone") : [];
  const made = h(
    "form",
    { class: "settings" },
    text("farm", t.settings.farm, settings.farm ?? ""),
    h("div", { class: "row" }, choice("units", t.settings.units, [["ha", t.settings.ha], ["ac", t.settings.ac]], settings.units), choice("land", t.settings.land, [["paddock", t.settings.paddock], ["field", t.settings.field]], settings.land)),
    h("div", { class: "row" }, text("zone", t.settings.zone, settings.zone, t.settings.zoneNow(Intl.DateTimeFormat().resolvedOptions().timeZone), { list: "zones" }), text("day_start", t.settings.dayStart, settings.day_start, t.settings.dayStartWhy, { inputmode: "numeric" })),
    h("datalist", { id: "zones" }, zones.map((zone) => h("option", { value: zone }))),
    text("currency", t.settings.currency, settings.currency),
    said,
    h("p", {}, h("button", { type: "submit", class: "button first" }, t.settings.save)),
  );
  async function save(): Promise<void> {
    const data = new FormData(made);
    const word = (name: string): string => String(data.get(name) ?? "").trim();
    put(said);
    try {
      const next = await home.saveSettings({ farm: word("farm") || null, units: word("units") === "ac" ? "ac" : "ha", land: word("land") === "field" ? "field" : "paddock", zone: word("zone"), day_start: word("day_start"), currency: word("currency") }, settings.version);
      speak(next.land);
      desk.set({ settings: next });
      notice(t.settings.saved);
      saved();
    } catch (error) {
      noteReach(error);
      put(said, reasonAndHint(error));
    }
  }
  return on(made, {
    submit: (event) => {
      event.preventDefault();
      void save();
    },
  });
}

function money(): Child {
  return h("section", {}, h("h2", {}, t.prices.title), h("p", {}, t.prices.what), h("p", { class: "row" }, h("a", { class: "button plain", href: to.prices }, t.prices.open), h("a", { class: "button plain", href: to.rates }, t.rates.title), h("a", { class: "button plain", href: to.planning }, t.planning.title)));
}

function themes(): HTMLElement {
  return h(
    "fieldset",
    { class: "choices" },
    h("legend", {}, t.settings.light),
    THEMES.map((theme) => h("label", { class: "choice" }, on(h("input", { type: "radio", name: "theme", value: theme, checked: theme === chosen() }), { change: () => choose(theme) }), h("span", {}, t.settings.themes[theme]))),
  );
}

function seasons(): Child {
  const { seasons: all, season } = desk.get();
  return h("section", {}, h("h2", {}, t.season.heading), h("p", {}, t.season.lead), h("ul", { class: "lines" }, (all.length ? all : [season]).map((year) => h("li", {}, h("a", { href: to.season(year) }, t.season.one(year))))));
}

function door(): Child {
  if (!desk.get().hello?.passphrase) return null;
  return h("p", {}, button(t.door.leave, () => void home.leave().then(() => location.assign(to.board), (error: unknown) => notice(reasonAndHint(error)))));
}
