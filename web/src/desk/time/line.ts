// The day on a time line: its state, and what its parts do to it.
import * as home from "../home";
import { button, h, on, put, s } from "../dom";
import { notice } from "../notice";
import type { LonLat, Timeline } from "../nouns";
import * as say from "../say";
import { createStore } from "../store";
import { onTheme } from "../theme";
import { noteReach, reasonAndHint } from "../trouble";
import { t } from "../words";
import { added, dropped, entriesOf, moved, shown, undoOf, without, type Change, type Shown } from "./changes";
import { drawOverview, moveByOverview } from "./overview";
import { around, closer, length, nearest, within, type Span } from "./span";
import { drawStrip, limitsOf, momentUnder, type StripActs } from "./strip";
import { chosenTools, savingTools, type ToolActs } from "./tools";
import { createTrier, NO_TRIAL, type Trial } from "./trial";

interface State {
  timeline: Timeline;
  span: Span;
  changes: readonly Change[];
  selected: string | null;
  cursor: number | null;
  trial: Trial;
  saving: boolean;
}
export type View = Pick<State, "span" | "selected" | "cursor">;
const START = { changes: [], selected: null, cursor: null, trial: NO_TRIAL, saving: false };
export interface TimeLine {
  element: HTMLElement;
  /** Brings a stretch into view, such as a question's. */
  look(from_ms: number, to_ms: number): void;
  /** What is looked at, for a line of the same day that takes this one's place. */
  view(): View;
  /** Whether something is set right that is not saved. */
  unsaved(): boolean;
  close(): void;
}
export interface Where {
  paddock: string;
  season: number;
  /** One of the phones of the rig whose line it is, where several worked. */
  phone?: string;
  /** Told where the phone was at the moment looked at, and the way it drove around then. */
  point(at: LonLat | null, way: readonly LonLat[]): void;
  /** Told whether something is set right that is not saved. */
  changed(unsaved: boolean): void;
  /** Called after something was saved. */
  saved(): void;
}

/** `view` is what to begin with, where it lies in this day. */
export function timeLine(timeline: Timeline, where: Where, view: View | null = null): TimeLine {
  const whole: Span = { from: timeline.from_ms, to: timeline.to_ms };
  const least = innerWidth < 600 ? 600_000 : 1_800_000;
  const first = timeline.questions[0];
  const began = timeline.lever[0]?.t_ms ?? whole.from;
  const store = createStore<State>({
    timeline,
    ...START,
    span: around(first ? { from: first.from_ms, to: first.to_ms } : { from: began, to: began }, whole, least),
    ...(view && view.span.from >= whole.from && view.span.to <= whole.to ? view : {}),
  });
  const trier = createTrier(where.paddock, where.season, (trial) => store.set({ trial }));
  const strip = s("svg", { class: "strip", role: "group", "aria-label": t.time.strip });
  const overview = s("svg", { class: "overview", "aria-hidden": "true" });
  const [chosen, saving, range] = [h("div", { class: "chosen" }), h("div", {}), h("p", { class: "range" })];

  const all = (): Shown[] => shown(timeline.lever, store.get().changes);
  const picked = (): Shown | null => all().find((one) => one.key === store.get().selected) ?? null;
  const change = (changes: readonly Change[]): void => {
    store.set({ changes });
    trier.run(entriesOf(changes, where.paddock, where.phone));
  };
  const select = (key: string | null): void => {
    const one = all().find((o) => o.key === key);
    const { span } = store.get();
    const seen = one && one.t_ms >= span.from && one.t_ms <= span.to;
    store.set({ selected: key, ...(one ? { cursor: one.t_ms } : {}), ...(one && !seen ? { span: around({ from: one.t_ms, to: one.t_ms }, whole, length(span)) } : {}) });
  };
  const strips: StripActs = {
    select,
    move(what, to_ms, done) {
      const changes = moved(store.get().changes, what, to_ms);
      store.set({ cursor: to_ms });
      if (done) change(changes);
      else store.set({ changes });
    },
    cursor: (cursor) => store.set({ cursor, selected: null }),
    look: (span) => store.set({ span }),
  };
  const tools: ToolActs = {
    step(by) {
      const at = picked()?.t_ms ?? store.get().cursor ?? store.get().span.from;
      const others = all().filter((one) => (by > 0 ? one.t_ms > at : one.t_ms < at));
      const next = by > 0 ? others[0] : others.at(-1);
      if (next) select(next.key);
    },
    nudge(ms) {
      const one = picked();
      if (!one) return;
      const limits = limitsOf(one, all(), timeline);
      strips.move(one, Math.min(Math.max(one.t_ms + ms, limits.from), limits.to), true);
    },
    drop() {
      const one = picked();
      if (one) change(dropped(store.get().changes, one));
      if (one && !one.entry) select(null);
    },
    restore() {
      const one = picked();
      if (one?.state === "hidden") change(added(store.get().changes, one.lever, one.t_ms));
      else if (one) change(without(store.get().changes, one.key));
    },
    add(lever) {
      const { cursor, changes } = store.get();
      if (cursor === null) return;
      const more = added(changes, lever, Math.round(cursor / 1000) * 1000);
      change(more);
      const last = more.at(-1);
      if (last?.kind === "add") select(`added/${last.id}`);
    },
    save: () => void save(),
    discard() {
      change([]);
      select(null);
    },
  };

  async function save(): Promise<void> {
    const entries = entriesOf(store.get().changes, where.paddock, where.phone);
    store.set({ saving: true });
    try {
      const { seq } = await home.addEntries(entries);
      trier.close();
      store.set({ changes: [], trial: NO_TRIAL, selected: null });
      notice(t.time.saved, () => void takeBack(undoOf(entries, seq, where.paddock)));
      where.saved();
    } catch (error) {
      noteReach(error);
      notice(reasonAndHint(error));
    } finally {
      store.set({ saving: false });
    }
  }
  async function takeBack(entries: ReturnType<typeof undoOf>): Promise<void> {
    try {
      await home.addEntries(entries);
      notice(t.time.takenBack);
      where.saved();
    } catch (error) {
      noteReach(error);
      notice(reasonAndHint(error));
    }
  }

  on(strip, {
    pointerdown: (event) => {
      if (event.button === 0) strips.cursor(momentUnder(strip, event.clientX, store.get().span));
    },
  });
  moveByOverview(overview, () => store.get(), strips);
  const zoom = (factor: number): void => {
    const { span, cursor } = store.get();
    const about = cursor !== null && cursor >= span.from && cursor <= span.to ? cursor : undefined;
    strips.look(closer(span, whole, factor, about));
  };
  const shift = (share: number): void => {
    const { span } = store.get();
    strips.look(within({ from: span.from + share * length(span), to: span.to + share * length(span) }, whole));
  };
  const draw = (): void => {
    drawStrip(strip, store.get(), strips);
    drawOverview(overview, store.get());
    const { span } = store.get();
    put(range, t.time.range(say.clock(span.from), say.clock(span.to)));
  };
  const ends = [
    store.watch(["span", "changes", "selected", "cursor"], draw),
    store.watch(["changes", "selected", "cursor"], ({ cursor }) => put(chosen, chosenTools(picked(), cursor, tools))),
    store.watch(["changes"], ({ changes }) => where.changed(changes.length > 0)),
    store.watch(["changes", "trial", "saving"], (now) => put(saving, savingTools(now.changes, now.trial, now.saving, tools))),
    store.watch(["cursor"], ({ cursor }) => pointAt(cursor)),
    onTheme(draw),
  ];
  function pointAt(cursor: number | null): void {
    const found = cursor === null ? null : nearest(timeline.place, cursor);
    where.point(found ? [found[1], found[2]] : null, []);
  }
  const sized = new ResizeObserver(draw);
  sized.observe(strip);

  const element = h(
    "div",
    { class: "time" },
    overview,
    h("div", { class: "row tight" }, range, button(t.time.earlier, () => shift(-0.6)), button(t.time.later, () => shift(0.6)), button(t.time.closer, () => zoom(0.5)), button(t.time.farther, () => zoom(2)), button(t.time.wholeDay, () => strips.look(whole))),
    strip,
    chosen,
    saving,
  );
  return {
    element,
    look(from_ms, to_ms) {
      strips.look(around({ from: from_ms, to: to_ms }, whole, least / 2));
      store.set({ cursor: from_ms, selected: null });
      where.point(null, timeline.place.filter(([ms]) => ms >= from_ms - 30_000 && ms <= to_ms + 30_000).map(([, lon, lat]): LonLat => [lon, lat]));
    },
    view() {
      const { span, selected, cursor } = store.get();
      return { span, selected, cursor };
    },
    unsaved: () => store.get().changes.length > 0,
    close() {
      for (const end of ends) end();
      sized.disconnect();
      trier.close();
    },
  };
}
