// What is left in the bins and how far it goes, and what time is left, in lines.
import { SURE_Z, sureHa } from "../../core/balance";
import { hoursLeft } from "../../core/capacity";
import { isNight } from "../../core/sun";
import { bins, pace } from "../bins";
import { h, type Child } from "../dom";
import { kept } from "../gate/last";
import { about, minute } from "../say";
import type { Bin } from "../sums";
import { t } from "../words";
import { driving } from "../work/driving";

const STEP_MS = 300_000;
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

/** Ground and hours left by the last count, and when it is dark. */
export function timeLines(): Child[] {
  const { live, now } = driving.get();
  const { sums } = kept.get();
  const ha_h = pace();
  const out: Child[] = [];
  const lost = sums?.lost ?? null;
  if (lost !== null) out.push(h("p", { id: "lost" }, t.stock.lost(lost)));
  if (sums !== null && ha_h !== null) {
    const left_ha = Math.max(sums.tally.net_ha - sums.tally.sown_ha - sums.tally.doubt_ha, 0);
    if (left_ha > 0.05) out.push(h("p", { id: "hours" }, t.stock.time.left(about(left_ha), t.stock.time.hours(hoursLeft(left_ha, ha_h)))));
  }
  if (live === null || now === null || !now.known) return out;
  const [lon, lat] = live.plane.degrees(now.x_m, now.y_m);
  const dark_ms = duskAfter(now.t_ms, lat, lon);
  if (dark_ms !== null) out.push(h("p", { id: "dark" }, t.stock.time.dark(minute(dark_ms))));
  return out;
}

/** The next civil dusk, to some minutes; null: dark now, or none within a day. */
export function duskAfter(t_ms: number, lat_deg: number, lon_deg: number): number | null {
  if (isNight(t_ms, lat_deg, lon_deg)) return null;
  for (let at = t_ms; at < t_ms + DAY_MS; at += STEP_MS) if (isNight(at, lat_deg, lon_deg)) return at;
  return null;
}
