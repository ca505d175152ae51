// The picture of the ground on its canvas: drawn with every position, twice a second between, more often
// in a turn, hardly at all when dimmed.
import type { Plane } from "../../core/plane";
import { ringsOf } from "../../core/rings";
import type { KeepOut, Ring } from "../../core/words";
import { aim } from "../gate/aim";
import type { Pack } from "../../carry/pack";
import { cab } from "../state";
import { h } from "../dom";
import { t } from "../words";
import { known } from "../outs/known";
import { earlier, onto } from "./earlier";
import { holdsAt } from "./fence";
import { driving } from "./driving";
import { nextFrame, noFrame } from "./frame";
import { DAY, NIGHT, type Ink } from "./ink";
import { Tiles } from "./tiles";
import { ONWARD_S, View, type Drawn } from "./view";

/** Between two drawings, ms: straight on, in a turn. */
const STRAIGHT_MS = 500;
const TURN_MS = 80;
/** Finer pixels than this cost more than they show. */
const FINEST = 2;
const NOTHING: Drawn = { fence: [], outs: [], before: { sown: [], twice: [], doubt: [] }, aim: null };

export interface GroundView {
  readonly body: HTMLElement;
  /** Nothing is drawn while it is hidden. */
  hide(hidden: boolean): void;
  close(): void;
}

export function makeGround(): GroundView {
  const canvas = h("canvas", { class: "ground", role: "img", "aria-label": t.work.ground });
  const context = canvas.getContext("2d", { alpha: false });
  if (context === null) return { body: canvas, hide: () => undefined, close: () => undefined };
  const view = new View(context);
  let [tiles, drawn, of]: [Tiles | null, Drawn, unknown] = [null, NOTHING, null];
  let [hidden, seen_ms, seenAt] = [false, Number.NaN, 0];
  let timer: ReturnType<typeof setTimeout> | undefined;
  let ink: Ink = DAY;
  const draw = (stamp: number): void => {
    const { live, now } = driving.get();
    if (hidden || live === null || now === null) return;
    if (now.t_ms !== seen_ms) [seen_ms, seenAt] = [now.t_ms, stamp];
    const wanted = document.documentElement.dataset["light"] === "night" ? NIGHT : DAY;
    if (of !== live || tiles === null) [tiles, of] = [new Tiles(live.grid, live.doubt, wanted), live];
    if (wanted !== ink) tiles.ink(wanted);
    ink = wanted;
    const { wide, high, dpr } = sized(canvas);
    tiles.refresh();
    view.draw(now, tiles, drawn, ink, wide, high, dpr, (stamp - seenAt) / 1000);
    // between two positions it is reckoned on; a timer costs an old phone less than sixty frames a second
    const again = now.steady_s > 0 ? STRAIGHT_MS : TURN_MS;
    clearTimeout(timer);
    if (!now.standing && (stamp - seenAt) / 1000 < ONWARD_S) timer = setTimeout(soon, again);
  };
  const soon = (): void => {
    if (!hidden) nextFrame(draw);
  };
  const redraw = (): void => {
    const { live } = driving.get();
    drawn = live === null ? NOTHING : drawnOf(live.plane, cab.get().pack, Date.now(), known.get().outs);
    soon();
  };
  const ends = [driving.watch(["live"], redraw), driving.watch(["now"], soon), cab.watch(["pack"], redraw), known.watch(["outs"], redraw), aim.watch(["aim"], redraw)];
  window.addEventListener("resize", soon);
  // by night nothing stays white until the next position
  const lights = new MutationObserver(soon);
  lights.observe(document.documentElement, { attributes: true, attributeFilter: ["data-light"] });
  return {
    body: canvas,
    hide(now) {
      const shown = hidden && !now;
      hidden = now;
      if (shown) soon();
    },
    close() {
      noFrame(draw);
      clearTimeout(timer);
      hidden = true;
      window.removeEventListener("resize", soon);
      lights.disconnect();
      ends.forEach((end) => end());
    },
  };
}

/** Gives the canvas as many pixels as it covers. */
function sized(canvas: HTMLCanvasElement): { wide: number; high: number; dpr: number } {
  const dpr = Math.min(window.devicePixelRatio || 1, FINEST);
  const [wide, high] = [canvas.clientWidth, canvas.clientHeight];
  const [w, hi] = [Math.round(wide * dpr), Math.round(high * dpr)];
  if (canvas.width !== w) canvas.width = w;
  if (canvas.height !== hi) canvas.height = hi;
  return { wide, high, dpr };
}

/** Lines of the farm pack on the plane of the picture. */
export function drawnOf(plane: Plane, pack: Pack | null, t_ms: number, marked: readonly KeepOut[] = []): Drawn {
  const gone = aim.get().aim;
  const target = gone === null ? null : { number: gone.number, rings: gone.outline.map((ring) => onto(plane, ring)), ...placed(plane, gone.lon_deg, gone.lat_deg) };
  const own = outsOn(plane, marked, t_ms);
  if (pack === null) return { ...NOTHING, outs: own, aim: target };
  const near = pack.paddocks.filter(({ land }) => land.area !== null);
  return {
    fence: near.reduce<Ring[]>((all, { land }) => all.concat(ringsOf(plane.areaToXy(land.area ?? []))), []),
    outs: near.reduce<Drawn["outs"][number][]>((all, { land }) => all.concat(outsOn(plane, land.keep_outs, t_ms)), own),
    before: { sown: earlier(near, "sown", plane), twice: earlier(near, "twice", plane), doubt: earlier(near, "doubt", plane) },
    aim: target,
  };
}

/** Keep-outs that hold at a moment, with the letter that stands in them. */
function outsOn(plane: Plane, outs: readonly KeepOut[], t_ms: number): Drawn["outs"][number][] {
  const rings = (out: KeepOut): Drawn["outs"][number][] => ringsOf(plane.areaToXy(out.area)).map((ring) => ({ ring, letter: (out.kind[0] ?? "?").toUpperCase(), hazard: out.hazard }));
  return outs.filter((out) => holdsAt(out, t_ms)).reduce<Drawn["outs"][number][]>((all, out) => all.concat(rings(out)), []);
}

function placed(plane: Plane, lon: number, lat: number): { x_m: number; y_m: number } {
  const [x_m, y_m] = plane.point(lon, lat);
  return { x_m, y_m };
}
