// What things cost on this farm; where it has not said, an invented farm's figure stands in and says so.
import * as home from "../home";
import { h, on, put } from "../dom";
import { notice } from "../notice";
import type { Settings } from "../nouns";
import type { Page } from "../route";
import * as say from "../say";
import { desk } from "../state";
import { noteReach, reasonAndHint, show } from "../trouble";
import { t } from "../words";

const PRICES = ["seed_kg_ha", "seed_price_kg", "fert_kg_ha", "fert_price_kg", "fuel_l_ha", "fuel_price_l", "tractor_h", "yield_t_ha", "grain_price_t", "weed_penalty_ha"] as const;
type Price = (typeof PRICES)[number];
/** Hectares an hour that a hectare sown again is shown at, where no day tells a pace. */
const PACE_HA_H = 4.4;

export function pricesPage(): Page {
  const inside = h("div", {});
  const read = (): Promise<void> => show(inside, home.settings, (settings) => form(settings, () => void read()));
  void read();
  return { title: t.prices.title, body: h("div", { class: "page narrow" }, h("h1", {}, t.prices.title), h("p", {}, t.prices.what), h("p", {}, t.prices.perHa), inside) };
}

function form(settings: Settings, saved: () => void): HTMLElement {
  const said = h("p", { class: "wrong", role: "alert" });
  const sums = h("dl", { class: "sums" });
  const field = (name: string, label: string, value: number | null, example: number, why = ""): HTMLElement => {
    const under = `${why && `${why} `}${value === null ? t.prices.example(example) : t.prices.yours}`;
    return h("div", { class: "field" }, h("label", { for: `price-${name}` }, label), h("input", { id: `price-${name}`, name, type: "text", inputmode: "decimal", autocomplete: "off", value: value === null ? "" : String(value), "aria-describedby": `why-${name}` }), h("span", { class: "under", id: `why-${name}` }, under));
  };
  const made = h(
    "form",
    { class: "settings" },
    h("div", { class: "price-grid" }, PRICES.map((key) => field(key, t.settings.price[key], settings.prices[key] ?? null, settings.example.prices[key] ?? 0))),
    field("trip_min", t.prices.trip, settings.trip_min, settings.example.trip_min, t.prices.tripWhy),
    h("p", {}, t.prices.clear),
    sums,
    said,
    h("p", {}, h("button", { type: "submit", class: "button first" }, t.prices.save)),
  );
  const typed = (name: string): number | null => {
    const text = String(new FormData(made).get(name) ?? "").trim().replace(",", ".");
    return text === "" ? null : Number(text);
  };
  const used = (key: Price): number => typed(key) ?? settings.example.prices[key] ?? 0;
  const reckon = (): void => {
    const material = used("seed_kg_ha") * used("seed_price_kg") + used("fert_kg_ha") * used("fert_price_kg");
    const bare = used("yield_t_ha") * used("grain_price_t") - material + used("weed_penalty_ha");
    const twice = material + used("fuel_l_ha") * used("fuel_price_l") + used("tractor_h") / PACE_HA_H;
    const row = (name: string, value: number, how: string): HTMLElement[] => [h("dt", {}, name), h("dd", {}, h("strong", {}, Number.isFinite(value) ? say.money(value, settings.currency) : "–"), h("span", { class: "under" }, how))];
    put(sums, row(t.prices.bare, bare, t.prices.bareHow), row(t.prices.twice, twice, t.prices.twiceHow(`${PACE_HA_H} ha/h`)));
  };
  reckon();
  async function save(): Promise<void> {
    const prices = Object.fromEntries(PRICES.map((key) => [key, typed(key)]));
    const trip_min = typed("trip_min");
    const wrong = PRICES.find((key) => Number.isNaN(prices[key]));
    if (wrong !== undefined || Number.isNaN(trip_min)) {
      put(said, t.settings.notNumber(wrong === undefined ? t.prices.trip : t.settings.price[wrong]));
      return;
    }
    put(said);
    try {
      desk.set({ settings: await home.saveSettings({ prices, trip_min }, settings.version) });
      notice(t.prices.saved);
      saved();
    } catch (error) {
      noteReach(error);
      put(said, reasonAndHint(error));
    }
  }
  return on(made, {
    input: reckon,
    submit: (event) => {
      event.preventDefault();
      void save();
    },
  });
}
