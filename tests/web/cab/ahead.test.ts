// The count begun while standing: shared by whoever asks for the same, dropped when it is of yesterday.
import { askedHere, drop, followCounts, join, openHere } from "../../../web/src/cab/ahead";
import { kept } from "../../../web/src/cab/gate/last";
import { wanted } from "../../../web/src/cab/gate/wanted";
import { reckon, type Hears } from "../../../web/src/cab/reckon";
import { cab } from "../../../web/src/cab/state";
import type { First, Said, Sums } from "../../../web/src/cab/sums";
import type { Entry } from "../../../web/src/keep/entry";
import type { Keeper, Write } from "../../../web/src/keep/keep";

/** A worker that says only what a test makes it say. */
class FakeWorker {
  static readonly made: FakeWorker[] = [];
  ended = false;
  jobs = 0;
  onmessage: (event: { data: Said }) => void = () => undefined;

  constructor() {
    FakeWorker.made.push(this);
  }

  postMessage(): void {
    this.jobs += 1;
  }

  terminate(): void {
    this.ended = true;
  }

  says(data: Said): void {
    this.onmessage({ data });
  }
}

let written: (write: Write) => void = () => undefined;
const log = {
  dev: "cab",
  flush: () => Promise.resolve(),
  unstored: () => [],
  onWrite(heard: (write: Write) => void) {
    written = heard;
    return () => undefined;
  },
} as unknown as Keeper;
const sums = { questions: [] } as unknown as Sums;
const write = (kind: string): void => written({ state: "stored", entries: [{ kind } as Entry] } as unknown as Write);
const first: First = { net_m2: 10, bare_m2: 1 };

function ears(): Hears & { readonly said: unknown[] } {
  const said: unknown[] = [];
  return {
    said,
    stage: (stage, part) => void said.push([stage, part]),
    first: (one) => void said.push(one),
    done: (all) => void said.push(all),
    failed: (why) => void said.push(why.code),
  };
}

beforeEach(() => {
  Object.assign(globalThis, { Worker: FakeWorker, document: { querySelector: () => ({ src: "/cab/assets/it.js" }) } });
  drop();
  kept.set({ sums: null });
  cab.set({ keeper: log, standing: true });
  // one that rests from the test before is ended with the count that it begins
  reckon({}, ears())();
  FakeWorker.made.length = 0;
  followCounts(log);
});
afterEach(() => {
  Object.assign(globalThis, { Worker: undefined, document: undefined });
});

/** The log is written before a worker is told what to count. */
const told = (): Promise<unknown> => new Promise((done) => setTimeout(done));
const last = (): FakeWorker => FakeWorker.made[FakeWorker.made.length - 1] as FakeWorker;

describe("a count begun while standing", () => {
  it("tells its questions on the way, and goes on for the gate check", async () => {
    const asked = openHere();
    last().says({ what: "stage", stage: "taps", part: 0.2 });
    last().says({ what: "first", first });
    last().says({ what: "open", open: { questions: [], paddock: "north" } });
    await expect(asked).resolves.toEqual({ questions: [], paddock: "north" });
    const gate = ears();
    join(askedHere(), gate);
    expect(gate.said).toEqual([["taps", 0.2], first]);
    last().says({ what: "done", sums });
    expect(gate.said[2]).toBe(sums);
    expect(kept.get().sums).toBe(sums);
    expect(FakeWorker.made).toHaveLength(1);
    const later = ears();
    join(askedHere(), later);
    expect(later.said[later.said.length - 1]).toBe(sums);
  });

  it("goes on through positions and what happens to the phone, and through nobody listening", () => {
    const end = join(askedHere(), ears());
    write("fix");
    write("phone");
    end();
    expect(last().ended).toBe(false);
    join(askedHere(), ears());
    expect(FakeWorker.made).toHaveLength(1);
  });

  it.each(["lever", "say", "mark", "fill", "undo"])("is dropped when a %s is logged", (kind) => {
    join(askedHere(), ears())();
    write(kind);
    expect(last().ended).toBe(true);
    join(askedHere(), ears());
    expect(FakeWorker.made).toHaveLength(2);
  });

  it("is dropped when the wheels turn, but told to its end to whoever listens", async () => {
    const gate = ears();
    join(askedHere(), gate);
    const worker = last();
    cab.set({ standing: false });
    expect(worker.ended).toBe(false);
    worker.says({ what: "done", sums });
    expect(gate.said).toEqual([sums]);
    expect(kept.get().sums).toBeNull(); // it may be of yesterday
    join(askedHere(), ears());
    await told();
    expect(FakeWorker.made.map(({ jobs }) => jobs)).toEqual([2]);
  });

  it("is another one for another question", () => {
    join(askedHere(), ears());
    join({ ...askedHere(), paddock: "south" }, ears());
    expect(FakeWorker.made).toHaveLength(2);
  });

  it("asks of the paddock where one stands, whichever the gate check is wanted of", () => {
    wanted.set({ paddock: "south", lap: false });
    void openHere();
    expect(join(askedHere(), ears())).toBeTypeOf("function");
    expect(FakeWorker.made).toHaveLength(2);
    wanted.set({ paddock: null, lap: false });
    void openHere();
    join(askedHere(), ears());
    expect(FakeWorker.made).toHaveLength(3);
  });

  it("that failed is made anew when it is asked for again", async () => {
    const asked = openHere();
    last().says({ what: "failed", why: { code: "no-rig", message: "", hint: "" } });
    await expect(asked).resolves.toMatchObject({ code: "no-rig" });
    join(askedHere(), ears());
    await told();
    expect(FakeWorker.made.map(({ jobs }) => jobs)).toEqual([2]);
  });
});
