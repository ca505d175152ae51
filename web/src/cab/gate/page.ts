// The gate check: what is still bare before one leaves, how sure that is, and what to do about each.
import { wordOf } from "../../core/between";
import { elsewhere } from "../../core/fit";
import { markOf } from "../../formats/log";
import { Plane } from "../../core/plane";
import type { Mark } from "../../core/words";
import { askedHere, drop, join } from "../ahead";
import { breath } from "../breath";
import { button, h, put, type Child } from "../dom";
import { go, has, type Page } from "../route";
import { about, area, band, dated, distance, minute, size, width } from "../say";
import { backButton } from "../shell";
import { cab, keeper } from "../state";
import type { Failure, Sums } from "../sums";
import { t } from "../words";
import { aim } from "./aim";
import { card } from "./card";
import { decided, decisions, type Decision } from "./decided";
import { dried } from "./dried";
import { drawing } from "./drawing";
import { kept } from "./last";
import type { Spot } from "./plates";
import { wanted } from "./wanted";
import { unseenHa } from "./unseen";
import { approach, stopOf, foot, wayLines } from "./worthy";

interface State {
  sums: Sums | null;
  said: readonly Mark[];
  /** Which card is open, by its place in the list. */
  at: number;
  paddock: string | null;
  lap: boolean;
}

export function gatePage(): Page {
  const state: State = { sums: null, said: [], at: 0, ...wanted.get() };
  const status = h("div", { role: "status", class: "counting" });
  const map = h("div", { class: "map-side" });
  const side = h("div", { class: "card-side" });
  const acts = h("div", { class: "pairs acts" });
  const under = h("div", {});
  let end = (): void => undefined;

  const spotsOf = ({ patches }: Sums): Spot[] => patches.map((patch): Spot => ({ number: patch.number, patch }));
  const show = (): void => {
    const { sums } = state;
    if (sums === null) return;
    const known = decisions(sums.patches, state.said, sums);
    Array.from(map.querySelectorAll(".g-plate"), (plate, i) => plate.classList.toggle("g-chosen", i === state.at));
    put(side, ...cards(sums, spotsOf(sums), known));
    put(under, ...summary(sums, known));
  };
  const cards = (sums: Sums, spots: readonly Spot[], known: Map<unknown, Decision>): Child[] => {
    const spot = spots[state.at];
    put(acts);
    if (spot === undefined) return [h("p", { class: "large" }, t.gate.nothing)];
    const turn = (by: number) => (): void => {
      state.at = (state.at + by + spots.length) % spots.length;
      show();
    };
    const [open, buttons] = card(spot, sums, known.get(spot.patch) ?? null, (decision) => void take(sums, spot, decision));
    put(acts, ...buttons);
    return [
      open,
      spots.length < 2 ? null : h("div", { class: "pairs" }, button(t.gate.before, turn(-1)), button([t.gate.next, h("span", { class: "under" }, t.gate.of(state.at + 1, spots.length))], turn(1))),
    ];
  };
  const take = async (sums: Sums, spot: Spot, decision: Decision): Promise<void> => {
    const entry = decided(spot.patch, decision, sums, t.gate.prompt, Date.now());
    try {
      const seq = await keeper().append(entry);
      state.said = state.said.concat(markOf({ ...entry, dev: keeper().dev, seq }));
    } catch {
      return; // the frame says so, and the card stays as it was
    }
    if (decision === "go") {
      aim.set({ aim: aimOf(sums, spot) });
      if (has("work")) return go("work");
    } else {
      if (aim.get().aim?.number === spot.number) aim.set({ aim: null });
      if (state.at + 1 < sums.patches.length) state.at += 1;
    }
    show();
  };
  /** Shows what was counted: a long day's drawing takes an old phone as long as all the rest, and a touch is heard between. */
  const shown = async (sums: Sums): Promise<void> => {
    await breath();
    if (state.sums !== sums) return;
    put(map, drawing(sums, spotsOf(sums)));
    await breath();
    if (state.sums !== sums) return;
    put(status, h("p", { id: "asof" }, ...asOf(sums)), button(t.gate.again, anew), chooser());
    show();
  };
  const count = (): void => {
    end();
    put(status, h("p", { id: "counting" }, t.gate.counting("reading", 0)), button(t.gate.stop, stop));
    const said = status.querySelector("#counting");
    const first = h("p", { id: "glance" });
    status.insertBefore(first, status.lastChild);
    end = join(
      { ...askedHere(), paddock: state.paddock, lap: state.lap },
      {
        stage: (stage, part) => said !== null && put(said, t.gate.counting(stage, Math.round(part * 100))),
        first: ({ bare_m2 }) => put(first, t.gate.first(size(bare_m2))),
        done: (sums) => {
          Object.assign(state, { sums, said: sums.said, at: 0 });
          kept.set({ sums });
          void shown(sums);
        },
        failed: (why) => put(status, h("p", { class: "said", role: "alert", id: "failed" }, failure(why)), button(t.gate.again, anew), chooser()),
      },
    );
  };
  const anew = (): void => {
    drop();
    count();
  };
  const stop = (): void => {
    end();
    drop();
    put(status, h("p", {}, t.gate.stopped), button(t.gate.again, anew), chooser());
  };
  const chooser = (): HTMLElement => {
    const where = h("div", {});
    const pick = (paddock: string | null, lap: boolean) => (): void => {
      wanted.set({ paddock, lap });
      Object.assign(state, { paddock, lap, sums: null });
      for (const part of [map, side, acts, under]) put(part);
      count();
    };
    const open = (): void => {
      const rows = (cab.get().pack?.paddocks ?? []).map(({ id, name }) => button(name, pick(id, false)));
      put(where, h("div", { class: "stack" }, button(t.gate.here, pick(null, false)), rows, button(t.gate.byLap, pick("", true))));
    };
    put(where, button(t.gate.choose, open));
    return where;
  };
  count();
  const body = h(
    "div",
    { class: "page gate" },
    h("h1", {}, t.gate.title),
    h("div", { class: "sides" }, map, side, acts),
    under,
    status,
    backButton(),
    h("p", { class: "caution", id: "caution" }, t.gate.caution),
  );
  return { title: t.gate.title, body, close: () => end() };
}

/** Less than this nobody misses, ha. */
const LEAST_HA = 0.05;

function asOf(sums: Sums): Child[] {
  const name = sums.paddock === null ? t.gate.lap(area(sums.tally.net_ha + sums.tally.keep_out_ha)) : `${sums.paddock.name}.`;
  const clocks = sums.tally.clocks.map(({ ahead_s, phone }) => t.gate.clock(Math.max(Math.round(Math.abs(ahead_s) / 60), 1), ahead_s < 0 !== (phone === keeper().dev)));
  const sets = sums.resets.map(({ t_ms, set_s }) => t.gate.set(t.stand.seconds(Math.abs(set_s)), set_s < 0, minute(t_ms)));
  const here = cab.get().pack?.paddocks.find(({ id }) => id === sums.paddock?.id);
  const unseen = here === undefined ? 0 : unseenHa(here, sums.phones);
  const besides = [unseen < LEAST_HA ? "" : t.gate.unseen(about(unseen)), sums.guessed ? t.gate.guessed : "", sums.alone ? t.gate.alone : "", ...clocks, ...sets].filter((part) => part !== "");
  return [`${name} `, t.gate.asOf(dated(sums.until_ms)), ...besides.map((part) => ` ${part}`)];
}

function failure({ code, message, hint }: Failure): string {
  const known = t.gate.trouble[code];
  return known ?? [t.gate.failed, message, hint].filter((part) => part !== "").join(" ");
}

/** Bare ground and how sure that is; every number is of the count that is shown. */
function summary(sums: Sums, known: Map<unknown, Decision>): Child[] {
  const { tally, patches, questions } = sums;
  const calls = (call: string): number => patches.filter((patch) => patch.call === call).length;
  const looked = patches.filter((patch) => known.get(patch) === "sown").length;
  const { misfit, outside_ha, swept_ha } = tally;
  return [
    misfit === null ? null : h("p", { class: "said" }, t.gate.misfit(distance(misfit.apart_m), width(misfit.width_m))),
    elsewhere(tally) ? h("p", { class: "said" }, t.gate.elsewhere(area(outside_ha), area(swept_ha))) : null,
    h(
      "div",
      { class: "total", id: "total" },
      ...foot(sums),
      h("p", { class: "large" }, h("strong", {}, t.gate.bare(area(tally.bare_ha))), area(tally.bare_low_ha) === area(tally.bare_high_ha) ? null : ` ${t.gate.band(band(tally.bare_low_ha, tally.bare_high_ha))}`),
      patches.length === 0 ? null : h("p", {}, t.gate.calls(calls("sure"), calls("likely"), calls("can't tell"))),
      tally.doubt_ha < 0.005 ? null : h("p", {}, t.gate.doubt(area(tally.doubt_ha))),
      h("p", {}, t.gate.sown(area(tally.sown_ha), area(tally.net_ha))),
      ...rigLines(sums),
      dried(cab.get().pack?.paddocks ?? [], sums.paddock?.id ?? null, sums.outs, sums.until_ms).map(({ kind, name, until_ms }) => h("p", { class: "dried" }, t.gate.dried(name || kind, t.date(until_ms ?? 0)))),
      looked === 0 ? null : h("p", {}, t.gate.looked(looked)),
      questions.length === 0 ? null : h("p", {}, t.gate.asked(questions.length)),
    ),
    questions.length === 0 || !has("standing") ? null : button(t.gate.toAsked, () => go("standing")),
    // a long day's way is longer than a screen: what it all comes to, and what is asked, stand before it
    ...wayLines(sums),
  ];
}

/** What each of several rigs sowed, and how the seams between them lie. */
function rigLines({ tally: { rigs, between }, share }: Sums): Child[] {
  if (rigs.length === 0) return [];
  const name = (at: number): string => (at === share ? t.gate.ours : (rigs[at]?.name ?? ""));
  return [
    h("p", { id: "rigs" }, t.gate.rigs(rigs.map(({ sown_ha }, at) => `${name(at)} ${area(sown_ha)}`))),
    ...between.map((seam) => {
      const word = wordOf(seam);
      const spread = width((word === "about" ? 1 : 2) * seam.sigma_m);
      return h("p", { class: "seam" }, t.gate.seam(seam.rigs.map(name).join(" and "), distance(seam.length_m), word, width(Math.abs(seam.gap_m)), seam.gap_m < 0, spread));
    }),
  ];
}

function aimOf(sums: Sums, { number, patch }: Spot): NonNullable<ReturnType<typeof aim.get>["aim"]> {
  const plane = new Plane(sums.lat0_deg, sums.lon0_deg);
  const stop = stopOf(patch, sums);
  return {
    number,
    enter: stop === undefined ? "" : t.work.urgent.enter(number, stop.from, distance(stop.length_m)),
    lat_deg: patch.lat_deg,
    lon_deg: patch.lon_deg,
    outline: plane.areaToDegrees([patch.outline])[0] ?? [],
    words: [t.gate.where(patch.place, distance), approach(patch, sums)].filter((part) => part !== "").join(". "),
  };
}
