// What is left in the bins and how far it goes, and what time is left, in lines.
import { SURE_Z, sureHa } from "../../core/balance";
import { isNight } from "../../core/sun";
import { bins, pace } from "../bins";
import { h, type Child } from "../dom";
import { kept } from "../gate/last";
import { about, minute } from "../say";
import type { Bin } from "../sums";
import { t } from "../words";
import { driving } from "../work/driving";

const STEP_MS = 300_000;
const HOUR_MS = 3_600_000;
const DAY_MS = 86_400_000;

/** The bins as they are known now: while driving, else by the last count. */
export function known(): readonly Bin[] {
  const live = bins.get().bins;
  return live.length > 0 ? live : (kept.get().sums?.bins ?? []);
}

export function binLines(some: readonly Bin[]): Child[] {
  const ha_h = pace();
  return some.map(({ product, unit: sign, left, rate, mean, rounds }) => {
    if (left === null) return h("p", { "data-bin": product }, t.stock.unrated(product));
    const step = sign === "l" ? 5 : 10;
    const to = (value: number): number => Math.max(Math.round(value / step) * step, 0);
    const minutes = ha_h === null ? null : t.stock.minutes(Math.round((Math.max(left.ha, 0) / ha_h) * 60), Math.ceil((SURE_Z * left.ha_sigma * 60) / ha_h));
    const out = left.kg <= left.kg_sigma;
    return h(
      "p",
      { "data-bin": product, "data-kg": left.kg.toFixed(0) },
      h("strong", {}, t.stock.left(product, to(left.kg), sign, Math.max(to(left.kg_sigma), step))),
      " ",
      out ? t.stock.empty(product) : t.stock.lasts(about(sureHa(left)), rounds, minutes),
      rate === null ? null : ` ${t.stock.rate((mean ?? rate).toFixed(rate < 20 ? 1 : 0), sign, mean !== null)}`,
    );
  });
}

/** Ground gone over, by three ways, of the last count. */
export function areaLines(): Child[] {
  const { sums } = kept.get();
  if (sums === null) return [];
  const { map_ha, speed_ha, product_ha, apart, check } = sums.areas;
  const said = [map_ha, speed_ha, product_ha].map((ha) => (Number.isFinite(ha) ? about(ha) : null));
  return [h("p", { id: "areas" }, t.stock.areas(said[0] ?? null, said[1] ?? null, said[2] ?? null)), check ? h("p", { id: "check", class: "said" }, t.stock.check(Math.round(apart * 100))) : null];
}

/** Where the hours went and what is left by the last count, when it would be done, and when it is dark. */
export function timeLines(now_ms = Date.now()): Child[] {
  const { live } = driving.get();
  const { sums } = kept.get();
  const at = sums ?? live?.plane ?? null;
  const dark_ms = at === null ? null : duskAfter(now_ms, at.lat0_deg, at.lon0_deg);
  const dark = dark_ms === null ? null : t.stock.time.dark(minute(dark_ms));
  const out: Child[] = [];
  const { lost = null, finish = null } = sums ?? {};
  if (lost !== null) out.push(h("p", { id: "lost" }, t.stock.lost(lost)));
  if (finish === null) return [...out, dark === null ? null : h("p", { id: "dark" }, dark)];
  const { left_ha, hours, spread_h, ha_h } = finish;
  const when = (off: number): string => minute(now_ms + (hours + off) * HOUR_MS);
  const span = spread_h === null ? [] : [when(-Math.min(spread_h, hours)), when(spread_h)];
  const said = t.stock.time.hours;
  out.push(h("p", { id: "hours" }, t.stock.time.left(about(left_ha), said(hours), spread_h === null ? null : said(spread_h)), " ", t.stock.time.done(when(0), span)));
  const before_ha = dark_ms === null ? 0 : ((dark_ms - now_ms) / HOUR_MS) * ha_h;
  if (dark !== null) out.push(h("p", { id: "dark" }, dark, before_ha < left_ha ? ` ${t.stock.time.before(about(before_ha))}` : ""));
  return out;
}

/** The next civil dusk, to some minutes; null: dark now, or none within a day. */
export function duskAfter(t_ms: number, lat_deg: number, lon_deg: number): number | null {
  if (isNight(t_ms, lat_deg, lon_deg)) return null;
  for (let at = t_ms; at < t_ms + DAY_MS; at += STEP_MS) if (isNight(at, lat_deg, lon_deg)) return at;
  return null;
}
