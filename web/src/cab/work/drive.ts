// Logs and shows: ties the positions, the log, the live picture and the signs together. It goes on
// whatever page is shown.
import { alsoKeeping } from "../../core/also";
import { Plane } from "../../core/plane";
import type { Log } from "../../core/words";
import type { Draft, LeverHow } from "../../keep/entry";
import type { Keeper } from "../../keep/keep";
import type { Pack } from "../../carry/pack";
import { breath } from "../breath";
import { Live, type Fix, type Happened } from "../live";
import { logOf } from "../../core/work";
import { paddockHere, rigsFor } from "../pick";
import { BACK_MS, leftBy, relive } from "../relive";
import { kept } from "../role";
import type { PositionSource } from "../source";
import { edgeTime } from "./cuer";
import { fenceOf } from "./fence";
import { driving } from "./driving";
import { Levers } from "./levers";
import type { Sign } from "./tones";

/** Touches nearer together than this are one: the cab shakes, ms. */
export const REFRACTORY_MS = 700;
/** Without a position for so long there is none, ms; the soft tick comes so often. */
const SILENT_MS = 5_000;
/** Without one for so long (a shed) nothing will tell that it stands: the driver may. */
const LOST_MS = 60_000;
const TICK_MS = 20_000;
/** Positions seldomer than this show turns badly, ms. */
const SELDOM_MS = 3_000;
/** Making the picture again gives the hand back after so long, ms: a touch waits no longer. */
const SLICE_MS = 50;
/** The paddock is looked for so often, ms of the track. */
const LOOK_MS = 20_000;
/** A page that was gone for longer than this says how it left the lever, ms. */
const GONE_MS = 60_000;
/** An edge further off than this is not the one that a press was meant for, ms. */
const EDGE_MS = 60_000;
/** It stands, for the pages, after so long, s. */
export const STANDING_S = 6;

/** What it acts on. */
export interface Around {
  readonly log: Keeper;
  readonly source: PositionSource;
  readonly pack: () => Pack | null;
  readonly play: (sign: Sign) => void;
  /** The lever as pages show it, and whether the tractor stands. */
  readonly tell: (told: { lever?: "down" | "up"; standing?: boolean; also?: string | null }) => void;
  readonly clock: () => number;
}

type Later = (live: Live) => void;

export class Drive {
  private readonly levers: Levers;
  private live: Live | null = null;
  private down = false;
  private flowing = true;
  /** False until the log has said how the lever was left: a touch before that would guess. */
  private known = true;
  private paddock: string | null = null;
  private lookedAt_ms = -Infinity;
  private touched = -Infinity;
  private fixed = Number.NaN;
  private ticked = -Infinity;
  private making = 0;
  private later: Later[] | null = null;
  private last: Fix | null = null;
  /** When the lever would have been moved for the last edge ahead, UTC ms; and that as it was at the last press. */
  private edge: { readonly down: boolean; readonly ms: number } | null = null;
  private pressed: number | null = null;
  private timer: ReturnType<typeof setInterval> | null = null;

  constructor(private readonly a: Around) {
    this.levers = new Levers(a.log);
  }

  /** Takes up the log where it was left, and positions from now on. */
  async begin(): Promise<void> {
    this.fixed = this.a.clock();
    this.known = false;
    driving.set({ on: true, trouble: null, silent: false, lost: false });
    this.open();
    this.timer = setInterval(() => this.listen(), 1000);
    await this.remake();
  }

  end(): void {
    this.a.source.stop();
    if (this.timer !== null) clearInterval(this.timer);
    this.timer = null;
    this.making += 1;
    driving.set({ on: false, making: false, left_ms: null });
  }

  /** The lever: what is down goes up, what is up goes down. False: too soon after the last touch. */
  tap(how: LeverHow): boolean {
    if (!this.touch()) return false;
    const t_ms = this.a.source.now();
    const { edge } = this;
    this.pressed = edge !== null && edge.down === this.down && Math.abs(edge.ms - t_ms) < EDGE_MS ? edge.ms : null;
    this.down = !this.down;
    const lever = this.down ? "down" : "up";
    this.a.play(lever);
    this.a.tell({ lever });
    driving.set({ doubt: null, left_ms: null });
    this.see((live) => live.lever(lever === "down", t_ms));
    this.levers.add(this.store({ kind: "lever", t_ms, clock_ms: Date.now(), lever, how }));
    return true;
  }

  /** Seed stopped, or runs again; the paddock's strip since then is asked about when it stands. */
  flow(): boolean {
    if (!this.touch()) return false;
    const t_ms = this.a.source.now();
    this.flowing = !this.flowing;
    const on = this.flowing;
    this.a.play("mark");
    this.see((live) => live.flow(on, t_ms, null));
    void this.store({ kind: "flow", t_ms, clock_ms: Date.now(), flow: on ? "on" : "off" });
    return true;
  }

  /** Something is here; what it is can be told when it stands. */
  mark(): boolean {
    if (!this.touch()) return false;
    this.a.play("mark");
    void this.store({ kind: "mark", t_ms: this.a.source.now(), clock_ms: Date.now(), what: "mark", side: "here", ...this.place() });
    return true;
  }

  /**
   * Takes back the last lever entry; false where there is none, or too soon. When it should have been is asked
   * when it stands (stand/taken.ts).
   */
  oops(): boolean {
    if (!this.touch()) return false;
    if (!this.levers.any()) return false;
    this.a.play("oops");
    const undone = this.levers.take();
    this.down = !this.down;
    this.a.tell({ lever: this.down ? "down" : "up" });
    void this.undo(undone, this.pressed);
    this.pressed = null;
    return true;
  }

  /** The lever as the log has it now: an answer moved it. */
  async retake(): Promise<void> {
    this.known = false;
    await this.remake();
  }

  /** Makes the picture again: another farm pack came, or an answer. */
  async remake(): Promise<void> {
    const { log, source } = this.a;
    this.making += 1;
    const mine = this.making;
    const later: Later[] = [];
    this.later = later;
    driving.set({ making: true });
    const all = await log.log(source.now() - BACK_MS).catch(() => null);
    if (mine !== this.making) return;
    if (all !== null) this.a.tell({ also: alsoKeeping(all.fixes, log.dev) });
    // another rig has its own paddock and card
    const found = all === null ? null : logOf(all, kept(log.dev), all.fixes.phones);
    this.takeUp(found);
    const pack = this.a.pack();
    const first_ms = found?.fixes.t_ms[0] ?? this.last?.t_ms ?? source.now();
    const rigs = pack === null ? [] : rigsFor(found?.marks ?? [], pack.rigs);
    const here = found === null || pack === null ? null : paddockHere(found.fixes, pack.paddocks);
    this.paddock = here?.id ?? null;
    const fenceOn = (plane: Plane) => (here === null ? null : fenceOf(here, plane, source.now()));
    let made: Live;
    if (found === null || found.fixes.t_ms.length === 0) {
      // the plane lies where the first position is
      const at = this.last ?? (await this.firstFix(mine));
      if (at === null) return;
      made = new Live(new Plane(at.lat_deg, at.lon_deg), rigs, null, Math.min(first_ms, at.t_ms));
      if (this.down) made.lever(true, source.now());
    } else {
      const plane = new Plane(found.fixes.lat_deg[0] ?? 0, found.fixes.lon_deg[0] ?? 0);
      const slices = relive(found, kept(log.dev), { rigs, fenceOn }, plane, first_ms);
      const done = await this.sliced(slices, mine);
      if (done === null) return;
      made = done;
    }
    later.forEach((event) => event(made));
    this.later = null;
    this.live = made;
    this.lookedAt_ms = -Infinity;
    driving.set({ live: made, making: false, now: made.now() });
  }

  /** Lever and seed as the log left them, before its ground is painted. */
  private takeUp(found: Log | null): void {
    if (this.known) return;
    this.known = true;
    if (found === null) return;
    const left = leftBy(found.marks, kept(this.a.log.dev));
    [this.down, this.flowing] = [left.down, left.flowing];
    // only what this phone wrote can it take back with one touch
    const mine = left.lever?.phone === this.a.log.dev && left.lever.says["how"] !== "afterwards";
    this.levers.found(mine ? left.lever : null);
    this.a.tell({ lever: this.down ? "down" : "up" });
    const last_ms = found.fixes.t_ms.reduce((most, t) => Math.max(most, t), -Infinity);
    const gone = this.a.source.now() - last_ms > GONE_MS;
    driving.set({ left_ms: this.down && gone && last_ms > 0 ? last_ms : null });
  }

  /** The page was covered and is shown again; some phones have let go of the positions meanwhile. */
  shown(): void {
    this.a.play("back");
    if (this.a.source.name === "phone") this.open();
    this.listen();
  }

  private open(): void {
    const { source } = this.a;
    source.start(
      (fix) => this.fix(fix),
      (trouble) => {
        driving.set({ trouble });
        this.write({ kind: "phone", t_ms: source.now(), what: "source", note: trouble });
      },
    );
  }

  private fix(fix: Fix): void {
    const { clock, source } = this.a;
    const gap = clock() - this.fixed;
    this.fixed = clock();
    this.last = fix;
    const { t_ms, lat_deg, lon_deg, acc_m, speed_m_s, course_deg } = fix;
    this.write({ kind: "fix", t_ms, clock_ms: Date.now(), lat_deg, lon_deg, acc_m, speed_m_s, course_deg });
    const seldom = gap * source.speed > SELDOM_MS;
    this.later?.push((made) => void made.fix(fix));
    if (this.live === null) {
      driving.set({ silent: false, lost: false, trouble: null });
      return;
    }
    this.act(this.live.fix(fix), fix);
    this.look(fix);
    const now = this.live.now();
    this.edge = edgeTime(now) ?? this.edge;
    this.a.tell({ standing: now.stood_s >= STANDING_S });
    driving.set({ now, silent: false, lost: false, trouble: null, seldom });
  }

  private act({ strain, doubt }: Happened, fix: Fix): void {
    if (strain.begun || strain.severe) this.a.play(strain.severe ? "severe" : "strain");
    if (strain.over !== null) {
      const { peak_deg, seconds, side } = strain.over;
      driving.set({ strains: driving.get().strains + 1, strained_ms: fix.t_ms });
      void this.store({ kind: "mark", t_ms: fix.t_ms, what: "strain", side, note: `${Math.round(peak_deg)} deg, ${Math.round(seconds)} s`, ...this.place() });
    }
    if (doubt !== null) {
      this.a.play("forgot");
      driving.set({ doubt: doubt.what });
      const prompt = doubt.what === "sowing" ? "Down since the edge?" : "Lifted back there?";
      const from_ms = this.live?.ms(doubt.since_s) ?? fix.t_ms;
      void this.store({ kind: "say", t_ms: fix.t_ms, prompt, from_ms, to_ms: fix.t_ms });
    }
  }

  /** Another paddock is told by the position. */
  private look(fix: Fix): void {
    const { live } = this;
    const pack = this.a.pack();
    if (live === null || pack === null || fix.t_ms - this.lookedAt_ms < LOOK_MS) return;
    this.lookedAt_ms = fix.t_ms;
    setTimeout(() => this.land(live, pack, fix), 0); // not while a position is taken in
  }

  private land(live: Live, pack: Pack, fix: Fix): void {
    if (live !== this.live) return;
    const one = { t_ms: Float64Array.of(fix.t_ms), lat_deg: Float64Array.of(fix.lat_deg), lon_deg: Float64Array.of(fix.lon_deg) };
    const none = Float64Array.of(Number.NaN);
    const here = paddockHere({ ...one, acc_m: none, speed_m_s: none, course_deg: none, phone: Int32Array.of(0), segment: Int32Array.of(0), phones: [this.a.log.dev] }, pack.paddocks);
    if ((here?.id ?? null) === this.paddock) return;
    this.paddock = here?.id ?? null;
    live.land(here === null ? null : fenceOf(here, live.plane, fix.t_ms));
    driving.set({ live });
  }

  private listen(): void {
    const { clock, play, source } = this.a;
    const gone = (clock() - this.fixed) * Math.min(source.speed, 5);
    if (gone < SILENT_MS) return;
    driving.set({ silent: true, lost: gone >= LOST_MS });
    if (clock() - this.ticked < TICK_MS) return;
    this.ticked = clock();
    play("lost");
  }

  private place(): { lat_deg?: number; lon_deg?: number } {
    return this.last === null ? {} : { lat_deg: this.last.lat_deg, lon_deg: this.last.lon_deg };
  }

  private touch(): boolean {
    const now = this.a.clock();
    if (!this.known) return false;
    // a day replayed a hundred times as fast has its taps a hundred times as near
    if ((now - this.touched) * Math.max(this.a.source.speed / 10, 1) < REFRACTORY_MS) return false;
    this.touched = now;
    return true;
  }

  /** Does something to the picture, and to the one that is being made. */
  private see(event: Later): void {
    if (this.later !== null) this.later.push(event);
    if (this.live !== null) event(this.live);
  }

  private write(draft: Draft): void {
    this.a.log.append(draft).catch(() => undefined); // the log itself tells of failures, and keeps it
  }

  /** An entry that the driver made: the rim is hollow until it is stored, and a failure is heard. */
  private async store(draft: Draft): Promise<number | null> {
    driving.set({ unstored: driving.get().unstored + 1 });
    try {
      const seq = await this.a.log.append(draft);
      driving.set({ unstored: Math.max(0, driving.get().unstored - 1) });
      return seq;
    } catch {
      this.a.play("failed");
      return null;
    }
  }

  private async undo(undone: Promise<number | null>, edge_ms: number | null): Promise<void> {
    const t_ms = this.a.source.now();
    const of = await undone;
    const edge = edge_ms === null ? {} : { edge_ms };
    if (of !== null) await this.store({ kind: "undo", t_ms, clock_ms: Date.now(), of, about: "oops", ...edge });
    await this.remake();
  }

  private async firstFix(mine: number): Promise<Fix | null> {
    while (this.last === null && mine === this.making) await wait(50);
    return mine === this.making ? this.last : null;
  }

  private async sliced(slices: Generator<void, Live, void>, mine: number): Promise<Live | null> {
    for (;;) {
      await breath();
      if (mine !== this.making) return null;
      const until = this.a.clock() + SLICE_MS;
      do {
        const step = slices.next();
        if (step.done === true) return step.value;
      } while (this.a.clock() < until);
    }
  }
}

const wait = (ms: number): Promise<void> => new Promise((resolve) => setTimeout(resolve, ms));
