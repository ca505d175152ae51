// A second worker beside the one that counts: it brings the same, and where it fails the first does without.
import { reckon, type Hears } from "../../../web/src/cab/reckon";
import { assist, beside } from "../../../web/src/cab/second";
import { cab } from "../../../web/src/cab/state";
import type { Said, Sums } from "../../../web/src/cab/sums";
import { type Errand, errand, fetched } from "../../../web/src/core/errand";
import { type Draws, allOf, settled } from "../../../web/src/core/settle";
import { type Drawing, drawing } from "../../../web/src/core/together";
import type { Keeper } from "../../../web/src/keep/keep";
import { furrows } from "../core/furrows";

const HOW = { white_m: 0.02, rate: Number.NaN, rate_error: Number.NaN, pegs: [], move: true };
const DRAWING: Drawing = { day: settled(furrows().stretches, null, HOW), draws: 12, seed: 5 };
/** Ground that nobody sowed. */
const EMPTY = { net: [], keep_out: [], sown: [], part: [], bare: [], doubt: [], unreachable: [], outside: [] };
const DRAWS = errand("draws", DRAWING);

const open: MessagePort[] = [];
function channel(): { near: MessagePort; far: MessagePort } {
  const { port1: near, port2: far } = new MessageChannel();
  open.push(near, far);
  return { near, far };
}
afterEach(() => open.splice(0).forEach((port) => port.close()));

const breath = (): Promise<unknown> => new Promise((done) => setTimeout(done, 30));

describe("what a second worker is sent for", () => {
  it("is to the last bit what the first makes, handed over and back", async () => {
    const { near, far } = channel();
    const second = beside(near);
    assist(far);
    await breath();
    const empty = errand("twice", { strips: [], once: EMPTY, covers: [] });
    second.send(DRAWS);
    second.send(empty);
    expect(await second.bring(empty)).toEqual({ twice: [], again_m2: 0 });
    // set by set: each of another size of drift
    const some = await Promise.all(Array.from({ length: 6 }, () => second.bring(DRAWS)));
    expect(some).toEqual(Array.from(drawing(DRAWING)));
    expect(allOf(some as Draws[])).toEqual(fetched(DRAWS));
    // handing it over took nothing away: the first could still make them
    expect(fetched(DRAWS).east_draws).toHaveLength(12);
    expect(DRAWING.day.best).not.toBeNull();
  });

  it("is not waited for where there is no second one, or it is not there in time", async () => {
    const none = beside(undefined);
    none.send(DRAWS);
    expect(await none.bring(DRAWS)).toBeUndefined();
    const { near } = channel();
    const late = beside(near);
    await breath();
    late.send(DRAWS);
    expect(await late.bring(DRAWS)).toBeUndefined();
  });

  it("is made by the first where the second fails at it, and so is all that comes after", async () => {
    const { near, far } = channel();
    const second = beside(near);
    assist(far);
    await breath();
    const broken = errand("draws", { ...DRAWING, day: { ...DRAWING.day, samples: null } } as unknown as Drawing);
    second.send(broken);
    second.send(DRAWS);
    expect(await second.bring(broken)).toBeUndefined();
    expect(await second.bring(DRAWS)).toBeUndefined();
  });

  it("is made by the first where it cannot be handed over, or something else was", async () => {
    const { near, far } = channel();
    const second = beside(near);
    assist(far);
    await breath();
    const whole = errand("draws", { ...DRAWING, day: { ...DRAWING.day, never: () => undefined } } as Drawing);
    second.send(whole);
    expect(await second.bring(whole)).toBeUndefined();
    second.send(DRAWS);
    expect(await second.bring({ ...DRAWS })).toBeUndefined();
    expect(await second.bring(undefined)).toBeUndefined();
    expect(await second.bring(DRAWS)).toBeDefined();
  });

  it("is made by the first where the second does not answer, and that is waited for once", async () => {
    const { near, far } = channel();
    const second = beside(near);
    // oxlint-disable-next-line unicorn/require-post-message-target-origin -- a port has none
    far.postMessage(true);
    await breath();
    vi.useFakeTimers();
    const other: Errand = { ...DRAWS };
    second.send(DRAWS);
    second.send(other);
    vi.setSystemTime(Date.now() + 4000);
    let said: unknown = "waiting";
    void second.bring(DRAWS).then((draws) => (said = draws));
    await vi.advanceTimersByTimeAsync(15_900);
    expect(said).toBe("waiting");
    await vi.advanceTimersByTimeAsync(200);
    expect(said).toBeUndefined();
    expect(await second.bring(other)).toBeUndefined();
    vi.useRealTimers();
  });

  it("is waited for anew after each part that came, not for as long as all of it took", async () => {
    const { near, far } = channel();
    const second = beside(near);
    // oxlint-disable-next-line unicorn/require-post-message-target-origin -- a port has none
    far.postMessage(true);
    await breath();
    vi.useFakeTimers({ toFake: ["Date", "setTimeout"] });
    second.send(DRAWS);
    vi.setSystemTime(Date.now() + 60_000);
    const some = { east_draws: [], north_draws: [] };
    const came = second.bring(DRAWS);
    // oxlint-disable-next-line unicorn/require-post-message-target-origin -- a port has none
    far.postMessage([0, some]);
    expect(await came).toEqual(some);
    vi.setSystemTime(Date.now() + 1000);
    let said: unknown = "waiting";
    void second.bring(DRAWS).then((draws) => (said = draws));
    await vi.advanceTimersByTimeAsync(3900);
    expect(said).toBe("waiting");
    await vi.advanceTimersByTimeAsync(200);
    expect(said).toBeUndefined();
    vi.useRealTimers();
  });
});

/** A worker that does nothing; from `refused` on none is to be had. */
class Idle {
  static made: Idle[] = [];
  static refused = Infinity;
  ended = false;
  readonly got: unknown[] = [];
  onmessage: ((event: { data: Said }) => void) | null = null;
  onerror: ((event: { message: string }) => void) | null = null;

  constructor() {
    if (Idle.made.length >= Idle.refused) throw new Error("no more workers");
    Idle.made.push(this);
  }

  postMessage(what: unknown): void {
    this.got.push(what);
  }
  terminate(): void {
    this.ended = true;
  }
}

describe("workers for a count", () => {
  const deaf: Hears = { stage: () => undefined, first: () => undefined, done: () => undefined, failed: () => undefined };
  const cores = (many: number | undefined): void => {
    Object.defineProperty(globalThis, "navigator", { value: { hardwareConcurrency: many }, configurable: true });
  };
  const log = { dev: "cab", flush: () => Promise.resolve(), unstored: () => [] } as unknown as Keeper;
  beforeEach(() => {
    Object.assign(globalThis, { Worker: Idle, document: { querySelector: () => ({ src: "/cab/assets/it.js" }) } });
    [Idle.made, Idle.refused] = [[], Infinity];
    cab.set({ keeper: log });
  });
  afterEach(() => {
    Object.assign(globalThis, { Worker: undefined, document: undefined });
    Reflect.deleteProperty(globalThis, "navigator");
  });

  afterEach(async () => {
    Idle.refused = Infinity;
    // whoever rests is ended with the count that it begins
    reckon({}, deaf)();
    await breath();
  });

  it("are two on a phone with several cores, and both are ended with a count that is stopped", async () => {
    cores(4);
    const end = reckon({}, deaf);
    await breath();
    expect(Idle.made).toHaveLength(2);
    const [first, second] = Idle.made as [Idle, Idle];
    expect(first.got).toMatchObject([{ dev: "cab", weigh: true }]);
    expect(second.got).toEqual([null]);
    end();
    expect(Idle.made.map(({ ended }) => ended)).toEqual([true, true]);
  });

  it("rest when they have counted, and count again", async () => {
    cores(4);
    const heard: unknown[] = [];
    const end = reckon({}, { ...deaf, done: (sums) => heard.push(sums) });
    const [first, second] = Idle.made as [Idle, Idle];
    const data = { what: "done", sums: { took_ms: 1 } as Sums } as const;
    first.onmessage?.({ data });
    end();
    const stop = reckon({}, { ...deaf, done: (sums) => heard.push(sums) });
    await breath();
    expect(Idle.made).toHaveLength(2);
    expect(Idle.made.map(({ ended }) => ended)).toEqual([false, false]);
    expect([first.got.length, second.got]).toEqual([2, [null, null]]);
    // two at a time: the later one has workers of its own, and only one pair rests
    reckon({}, deaf);
    expect(Idle.made).toHaveLength(4);
    first.onmessage?.({ data });
    Idle.made[2]?.onmessage?.({ data });
    expect(Idle.made.map(({ ended }) => ended)).toEqual([false, false, true, true]);
    expect(heard).toEqual([data.sums, data.sums]);
    stop();
    expect(first.ended).toBe(false);
  });

  it("are ended where one breaks, and the next count has others", () => {
    cores(4);
    const said: unknown[] = [];
    reckon({}, { ...deaf, failed: (why) => said.push(why) });
    Idle.made[0]?.onerror?.({ message: "no room" });
    expect(said).toEqual([{ code: "broken", message: "no room", hint: "" }]);
    expect(Idle.made.map(({ ended }) => ended)).toEqual([true, true]);
    reckon({}, deaf)();
    expect(Idle.made).toHaveLength(4);
  });

  it("are one where there is one core, and where nobody says how many", async () => {
    for (const many of [1, undefined]) {
      cores(many);
      Idle.made = [];
      reckon({}, deaf)();
      expect(Idle.made).toHaveLength(1);
      expect(Idle.made[0]?.ended).toBe(true);
    }
    await breath();
  });

  it("are one where a second is refused: the count goes on", async () => {
    cores(8);
    Idle.refused = 1;
    const end = reckon({}, deaf);
    await breath();
    expect(Idle.made[0]?.got).toMatchObject([{ dev: "cab" }]);
    end();
  });
});
