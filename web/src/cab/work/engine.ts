// The one drive of this page: begun from the working page, going on whatever page is shown, and taken up
// by itself when the page is loaded again in the middle of work.
import type { LeverHow } from "../../keep/entry";
import { ScreenLock } from "../awake";
import { choices } from "../choices";
import { lend } from "../reckon";
import { lookForOuts } from "../outs/known";
import { PhoneSource, ReplaySource, type PositionSource } from "../source";
import type { Fix } from "../live";
import { ports, ReceiverSource } from "../receiver";
import { cab, keeper } from "../state";
import { Cuer } from "./cuer";
import { Drive } from "./drive";
import { driving } from "./driving";
import { light, lightFor, type Light } from "./light";
import { isButton } from "./pad";
import { Tones, type Sign } from "./tones";

const KEY = "driving";
/** The sun is looked at so often, ms. */
const SUN_MS = 15_000;

let drive: Drive | null = null;
let starting = false;
let source: PositionSource | null = null;
let now: Light = "day";
let flash: (ms: number) => void = () => undefined;

export const tones = new Tones((_sign, ms) => flash(ms));
const cuer = new Cuer();
let packOf: unknown = null;

const lock = new ScreenLock((awake) => {
  const before = cab.get().awake;
  cab.set({ awake });
  const log = cab.get().keeper;
  if (log === null || !log.writes || awake === before || (awake !== "held" && awake !== "lost")) return;
  log.append({ kind: "phone", t_ms: Date.now(), what: awake === "held" ? "awake" : "sleepy" }).catch(() => undefined);
});

/** The receiver, where one was chosen and is still there; else the phone itself. */
async function chosenSource(): Promise<PositionSource> {
  const known = choices.get().source === "receiver" ? await ports()?.getPorts().catch(() => []) : undefined;
  const port = known?.[0];
  return port === undefined ? new PhoneSource() : new ReceiverSource(port);
}

/** What flashes with the tones. */
export function onFlash(act: (ms: number) => void): void {
  flash = act;
}

/** Whether work was going on when the page was last there. */
export async function wasDriving(): Promise<boolean> {
  const kept = await keeper().recall<boolean>(KEY).catch(() => undefined);
  return kept === true && keeper().writes;
}

/** Begins to log, or does nothing where that goes on already. */
export async function beginDrive(): Promise<void> {
  if (drive !== null || starting || !keeper().writes) return;
  starting = true;
  source = (import.meta.env.MODE === "trial" ? replayAsTold() : null) ?? (await chosenSource());
  starting = false;
  packOf = cab.get().pack;
  drive = new Drive({
    log: keeper(),
    source,
    pack: () => cab.get().pack,
    play: (sign) => tones.play(sign),
    tell: (told) => cab.set(told),
    clock: () => performance.now(),
  });
  keeper().remember(KEY, true).catch(() => undefined);
  lend(() => driving.get().live?.painted() ?? null);
  void lock.hold();
  // one reading of the log after the other: the ground is what is waited for
  void drive.begin().then(lookForOuts).catch(() => undefined); // the frame says when the log cannot be read
}

/** Ends it until the driver begins again. */
export function endDrive(): void {
  drive?.end();
  drive = null;
  source = null;
  keeper().remember(KEY, false).catch(() => undefined);
  void lock.letGo();
  driving.set({ live: null, now: null, silent: false, lost: false });
  cab.set({ standing: true });
}

/** What the pad and its row do; the first touch also lets the phone sound. */
export const acts = {
  tap: (how: LeverHow = "pad"): boolean => touched() && (drive?.tap(how) ?? false),
  mark: (): boolean => touched() && (drive?.mark() ?? false),
  flow: (): boolean => touched() && (drive?.flow() ?? false),
  oops: (): boolean => touched() && (drive?.oops() ?? false),
};

function touched(): boolean {
  tones.wake();
  return true;
}

/** Listens for what reaches the drive from outside the page: button, cover, pack, sun. Once. */
export function listen(): void {
  let failing = false;
  keeper().onWrite((write) => {
    const began = write.state === "failed" && !failing;
    failing = write.state === "failed";
    // what the driver pressed is heard where it was pressed; positions that are not kept are heard here
    if (began && write.entries.every(({ kind }) => kind === "fix" || kind === "phone")) tones.play("failed");
  });
  document.addEventListener("keydown", (event) => {
    if (drive === null || !isButton(event, choices.get().button)) return;
    event.preventDefault();
    acts.tap("button");
  });
  // what could not be written at first is written with what comes later
  keeper().onWrite(({ state }) => {
    if (state === "stored" && keeper().unstored().length === 0) driving.set({ unstored: 0 });
  });
  // an answer moved the lever, or was taken back
  keeper().onWrite(({ state, entries }) => {
    if (state === "stored" && entries.some((entry) => (entry.kind === "lever" ? entry.how === "afterwards" : entry.kind === "undo" && entry.about === undefined))) void drive?.retake();
  });
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState === "visible") drive?.shown();
  });
  cab.watch(["pack"], ({ pack }) => {
    if (drive !== null && pack !== packOf) void drive.remake();
    packOf = pack;
  });
  driving.watch(["now"], cueing);
  setInterval(shine, SUN_MS);
}

/**
 * Drives a recorded track instead of the phone's own positions, where whoever opened the page put one
 * beside it: builds for tests only.
 */
function replayAsTold(): PositionSource | null {
  const { unsownReplay: told } = window as { unsownReplay?: { track: readonly Fix[]; speed: number; begun_ms: number } };
  return told === undefined ? null : new ReplaySource(told.track, told.speed, told.begun_ms);
}

function cueing({ now: at }: { readonly now: ReturnType<typeof driving.get>["now"] }): void {
  if (at === null || source === null) return;
  const age_s = Math.min(Math.max((source.now() - at.t_ms) / 1000, 0), 1);
  const sounds = cuer.step(at, cab.get().pack?.settings.prices ?? null, age_s);
  if (sounds === null) return;
  const { down } = at;
  const sign: Sign = sounds.sign;
  setTimeout(() => {
    if (driving.get().now?.down === down) tones.play(sign);
  }, (sounds.in_s * 1000) / source.speed);
}

/** Night or day, as the sun stands over the rig. */
export function shine(): void {
  const { live, now: at } = driving.get();
  if (live === null || at === null || !at.known) return;
  const [lon_deg, lat_deg] = live.plane.degrees(at.x_m, at.y_m);
  const wanted = lightFor(now, { t_ms: at.t_ms, lat_deg, lon_deg }, at.turn_rad_s);
  if (wanted !== now) light(wanted);
  now = wanted;
}
