// A second worker beside the one that counts: the same draws with it, without it, and where it fails.
import { reckon, type Hears } from "../../../web/src/cab/reckon";
import { assist, beside } from "../../../web/src/cab/second";
import { cab } from "../../../web/src/cab/state";
import { settled } from "../../../web/src/core/settle";
import { type Drawing, drawn } from "../../../web/src/core/together";
import type { Keeper } from "../../../web/src/keep/keep";
import { furrows } from "../core/furrows";

const HOW = { white_m: 0.02, rate: Number.NaN, rate_error: Number.NaN, pegs: [], move: true };
const DRAWING: Drawing = { day: settled(furrows().stretches, null, HOW), draws: 12, seed: 5 };

const open: MessagePort[] = [];
function channel(): { near: MessagePort; far: MessagePort } {
  const { port1: near, port2: far } = new MessageChannel();
  open.push(near, far);
  return { near, far };
}
afterEach(() => open.splice(0).forEach((port) => port.close()));

const breath = (): Promise<unknown> => new Promise((done) => setTimeout(done, 30));

describe("draws made by a second worker", () => {
  it("are to the last bit those that the first makes, handed over and back", async () => {
    const { near, far } = channel();
    let ended = false;
    const second = beside(near);
    assist(far, () => (ended = true));
    await breath();
    second.begin(DRAWING);
    const made = await second.draws(DRAWING);
    expect(ended).toBe(true);
    expect(made).toEqual(drawn(DRAWING));
    // handing it over took nothing away: the first could still make them
    expect(drawn(DRAWING).east_draws).toHaveLength(12);
    expect(DRAWING.day.best).not.toBeNull();
  });

  it("are not waited for where there is no second one, or it is not there in time", async () => {
    const none = beside(undefined);
    none.begin(DRAWING);
    expect(await none.draws(DRAWING)).toBeUndefined();
    const { near } = channel();
    const late = beside(near);
    await breath();
    late.begin(DRAWING);
    expect(await late.draws(DRAWING)).toBeUndefined();
  });

  it("are made by the first where the second fails at them", async () => {
    const { near, far } = channel();
    const second = beside(near);
    let ended = false;
    assist(far, () => (ended = true));
    await breath();
    const broken = { ...DRAWING, day: { ...DRAWING.day, samples: null } } as unknown as Drawing;
    second.begin(broken);
    expect(await second.draws(broken)).toBeUndefined();
    expect(ended).toBe(true);
  });

  it("are made by the first where they cannot be handed over, or others were", async () => {
    const { near, far } = channel();
    const second = beside(near);
    assist(far, () => undefined);
    await breath();
    const whole = { ...DRAWING, day: { ...DRAWING.day, never: () => undefined } } as Drawing;
    second.begin(whole);
    expect(await second.draws(whole)).toBeUndefined();
    second.begin(DRAWING);
    expect(await second.draws({ ...DRAWING })).toBeUndefined();
    expect(await second.draws(DRAWING)).toBeDefined();
  });

  it("are made by the first where the second does not answer", async () => {
    const { near, far } = channel();
    const second = beside(near);
    // oxlint-disable-next-line unicorn/require-post-message-target-origin -- a port has none
    far.postMessage(true);
    await breath();
    vi.useFakeTimers();
    second.begin(DRAWING);
    vi.setSystemTime(Date.now() + 4000);
    let said: unknown = "waiting";
    void second.draws(DRAWING).then((draws) => (said = draws));
    await vi.advanceTimersByTimeAsync(7900);
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

  constructor() {
    if (Idle.made.length >= Idle.refused) throw new Error("no more workers");
    Idle.made.push(this);
  }

  addEventListener(): void {}
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

  it("are two on a phone with several cores, and both are ended when the count is", async () => {
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

  it("are one where there is one core, where nobody says how many, and for a count without draws", async () => {
    for (const [many, quick] of [[1, false], [undefined, false], [8, true]] as const) {
      cores(many);
      Idle.made = [];
      reckon({ quick }, deaf)();
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
