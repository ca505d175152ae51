// The paddock sheet: what is loose first, then the map, the day on its time line, and the numbers.
import * as home from "../home";
import { againPanel } from "../again/panel";
import { h, put } from "../dom";
import { keepOuts } from "../land";
import { hear } from "../live";
import { notice } from "../notice";
import type { Entry, PaddockThing, Run, Timeline } from "../nouns";
import { to, type Page, type Params } from "../route";
import * as say from "../say";
import { desk } from "../state";
import { createStore } from "../store";
import { onTheme } from "../theme";
import { timeLine, type TimeLine } from "../time/line";
import { answerOf, takenOf, undoOf } from "../time/changes";
import { noteReach, reasonAndHint, trouble } from "../trouble";
import { t } from "../words";
import { chosenLayers, layerBoxes } from "./layers";
import { sheetMap, type SheetMap } from "./map";
import { patchList } from "./patches";
import { boundsOf } from "./place";
import { questionList } from "./questions";
import { rigsPanel } from "./rigs";
import { runList } from "./runs";
import { standing } from "./standing";
import { hoursPanel } from "./hours";
import { NOTHING, type Sheet } from "./state";
import { stepper } from "./stepper";
import { areaCheck, remarks, tallyRow } from "./tally";

export function sheetPage({ id = "" }: Params): Page {
  const season = Number(new URLSearchParams(location.search).get("season")) || desk.get().season;
  const store = createStore<Sheet>(NOTHING);
  const shown = chosenLayers();
  const slots = {
    head: h("div", {}), status: h("div", {}), tally: h("div", {}), lead: h("div", {}), layers: h("div", {}), step: h("div", {}),
    patches: h("section", { class: "side" }), time: h("section", { class: "time-slot" }), check: h("div", {}), again: h("div", {}), runs: h("div", {}), remarks: h("div", {}),
  };
  const mapBox = h("div", { class: "map", "aria-label": t.map.label });
  const grid = h("div", { class: "sheet-grid" });
  const body = h("div", { class: "page sheet" }, slots.head, slots.status, slots.tally, grid);
  // on a desk the map and the day stand beside the lists, on a phone everything in order of need
  const onDesk = matchMedia("(min-width: 1000px)");
  const arrange = (): void => {
    const [see, day] = [[mapBox, slots.step, slots.layers], [slots.time, slots.runs, slots.remarks]];
    if (onDesk.matches) put(grid, h("div", { class: "column" }, see, day), h("div", { class: "column" }, slots.lead, slots.patches, slots.again, slots.check));
    else put(grid, h("div", { class: "column" }, slots.lead, see, slots.patches, day, slots.again, slots.check));
  };
  onDesk.addEventListener("change", arrange);
  arrange();
  let map: SheetMap | null = null;
  let line: TimeLine | null = null;
  let drawn: Timeline | null = null;
  let rigShown: string | null = null;
  let closed = false;

  async function read(): Promise<void> {
    try {
      const [thing, work] = await Promise.all([home.paddock(id), home.work(id, season)]);
      const ground = work.tally ? await home.ground(id, season) : null;
      if (closed) return;
      const day = store.get().day ?? work.days.at(-1) ?? null;
      store.set({ thing, work, ground, day, part: work.state === "computing" ? (store.get().part ?? 0) : null, error: null });
      desk.set({ reached: true });
      if (day) await readDay(day);
    } catch (error) {
      noteReach(error);
      if (!closed) store.set({ error });
    }
  }
  async function readDay(day: string): Promise<void> {
    const timeline = await home.timeline(id, season, day);
    if (!closed) store.set({ timeline, day });
  }
  function light(patch: number | null, run: number | null, moveThere: boolean): void {
    store.set({ lit: patch, run });
    map?.light(patch, run, moveThere);
    if (moveThere && (patch ?? run) !== null) mapBox.scrollIntoView({ block: "nearest" });
  }
  function stepTo(number: number | null): void {
    light(number, null, number !== null);
    if (number === null) map?.whole();
  }
  async function send(entries: Entry[], done: string): Promise<void> {
    store.set({ busy: true });
    try {
      const { seq } = await home.addEntries(entries);
      notice(done, () => void send(undoOf(entries, seq, id), t.time.takenBack));
      await read();
    } catch (error) {
      noteReach(error);
      notice(reasonAndHint(error));
    } finally {
      store.set({ busy: false });
    }
  }
  function drawTime({ timeline, work, day }: Readonly<Sheet>): void {
    // what is being set right is not swept away; it is drawn anew once it is saved or thrown away
    if (line?.unsaved() || (line && timeline === drawn && rigShown === store.get().rig)) return;
    drawn = timeline;
    rigShown = store.get().rig;
    const view = line?.view() ?? null;
    line?.close();
    line = null;
    if (!work?.days.length) return put(slots.time);
    const choose = h("select", { id: "day" }, work.days.map((one) => h("option", { value: one, selected: one === day }, say.day(one))));
    choose.addEventListener("change", () => void readDay(choose.value).catch((error: unknown) => notice(reasonAndHint(error))));
    const rigs = timeline?.rigs ?? [];
    const rig = rigs.find((each) => each.phones.includes(store.get().rig ?? "")) ?? rigs[0];
    const phone = rig?.phones[0];
    if (timeline?.from_ms && timeline.lever) {
      line = timeLine(rig ?? timeline, { paddock: id, season, ...(phone ? { phone } : {}), point: (at, way) => map?.point(at, way), changed: (unsaved) => store.set({ unsaved }), saved: () => void read() }, view);
    }
    const whose = h("select", { id: "rig" }, rigs.map((each) => h("option", { value: each.phones[0] ?? "", selected: each === rig }, t.time.rigOf(each.name, each.phones))));
    whose.addEventListener("change", () => store.set({ rig: whose.value }));
    put(slots.time, h("div", { class: "title-row" }, h("h2", {}, t.time.title), rigs.length > 1 && h("p", {}, h("label", { for: "rig" }, t.time.rig), " ", whose), h("p", {}, h("label", { for: "day" }, t.time.day), " ", choose)), h("p", {}, t.time.what), line?.element ?? h("p", {}, t.time.empty));
  }
  async function toMoment(from_ms: number, to_ms: number): Promise<void> {
    const { timeline, work } = store.get();
    if (timeline && (from_ms < timeline.from_ms || from_ms > timeline.to_ms)) {
      for (const day of work?.days ?? []) {
        const other = await home.timeline(id, season, day);
        if (from_ms >= other.from_ms && from_ms <= other.to_ms) {
          store.set({ timeline: other, day });
          break;
        }
      }
    }
    line?.look(from_ms, to_ms);
  }
  const pickRun = (run: Run): void => {
    if (!shown.has("runs")) {
      shown.add("runs");
      drawLayers();
    }
    light(null, run.number, true);
    void toMoment(run.down_ms, run.up_ms).catch((error: unknown) => notice(reasonAndHint(error)));
  };
  function drawLayers(): void {
    const { thing, work } = store.get();
    put(slots.layers, layerBoxes(work?.tally ?? null, keepOuts(thing?.geojson ?? null), shown, () => map?.show(shown)));
    map?.show(shown);
  }
  const drawPatches = ({ work, thing, lit, allPatches }: Readonly<Sheet>): void =>
    put(slots.patches, work?.tally ? patchList(work.tally.patches, boundsOf(thing?.geojson ?? null), work.worth, work.tally.questions, lit, allPatches, { light: (n, move) => light(n, null, move), all: () => store.set({ allPatches: true }) }) : null);
  function begin(): void {
    map = sheetMap(mapBox, (number) => {
      light(number, null, false);
      if (number !== null) document.getElementById(`patch-${number}`)?.scrollIntoView({ block: "nearest" });
    });
    map.show(shown);
  }

  const ends = [
    store.watch(["thing", "work"], ({ thing, work }) => {
      put(slots.head, thing ? headOf(thing, season) : null);
      put(slots.tally, work?.tally && [tallyRow(work.tally), rigsPanel(work.tally)]);
      put(slots.check, work?.area_check ? areaCheck(work.area_check) : null);
      put(slots.again, work?.waste && againPanel(work.waste, t.again.title), work?.hours && hoursPanel(work.hours, work.rig));
      put(slots.remarks, work?.tally ? remarks(work.tally) : null);
      drawLayers();
    }),
    store.watch(["thing", "ground"], ({ thing, ground }) => {
      if (!thing) return;
      if (!map) begin();
      map?.load(thing.geojson, ground);
      map?.goBack(store.get().work?.worth?.now?.way ?? []);
    }),
    store.watch(["work", "part", "error"], (now) => put(slots.status, now.error ? trouble(now.error, () => void read()) : standing(now))),
    store.watch(["work", "busy", "unsaved"], ({ work, busy, unsaved }) => put(slots.lead, work?.tally && questionList(work.tally.questions, work.taken ?? [], busy, unsaved, {
      answer: (question, word) => void send([answerOf(question, word, id)], t.questions.saved(t.questions.answer(word))),
      when: (taken, word) => void send(takenOf(taken, word, t.questions.taken[taken.lever], id), t.questions.saved(t.questions.oops(word))),
      show: ({ from_ms, to_ms }) => void toMoment(from_ms, to_ms).then(() => slots.time.scrollIntoView({ block: "nearest" })),
    }))),
    store.watch(["work", "thing", "lit", "allPatches"], drawPatches),
    store.watch(["work", "lit"], ({ work, lit }) => put(slots.step, stepper(work?.tally?.patches ?? [], lit, stepTo))),
    store.watch(["timeline", "day", "rig", "unsaved"], drawTime),
    store.watch(["work", "run"], ({ work, run }) => {
      const open = slots.runs.querySelector("details")?.open ?? false;
      put(slots.runs, work ? runList(work.runs, run, pickRun) : null);
      const list = slots.runs.querySelector("details");
      if (list) list.open = open;
    }),
    onTheme(() => {
      const { work } = store.get();
      drawLayers();
      put(slots.tally, work?.tally && [tallyRow(work.tally), rigsPanel(work.tally)]);
      put(slots.again, work?.waste && againPanel(work.waste, t.again.title), work?.hours && hoursPanel(work.hours, work.rig));
    }),
    hear({
      work: (event) => {
        if (event.paddock !== id || event.season !== season) return;
        if (event.state === "computing") store.set({ part: event.part ?? 0 });
        else void read();
      },
      missed: () => void read(),
    }),
  ];
  queueMicrotask(() => void read());
  return {
    title: t.sheet.title,
    body,
    unsaved: () => line?.unsaved() ?? false,
    close() {
      closed = true;
      onDesk.removeEventListener("change", arrange);
      for (const end of ends) end();
      line?.close();
      map?.close();
    },
  };
}

function headOf(thing: PaddockThing, season: number): HTMLElement {
  document.title = `${thing.name} · Unsown`;
  return h(
    "div",
    { class: "title-row" },
    h("h1", {}, thing.name, " ", h("span", { class: "season-mark" }, season)),
    h("p", { class: "row" }, h("a", { class: "button plain", href: to.handover(thing.id, season) }, t.handed.open), h("a", { class: "button plain", href: to.bins(thing.id, season) }, t.bins.open), h("a", { class: "button plain", href: to.shape(thing.id) }, t.sheet.shape), h("a", { class: "button plain", href: `/sheet/${encodeURIComponent(thing.id)}?season=${season}`, target: "_blank", rel: "noopener" }, t.sheet.print)),
  );
}
