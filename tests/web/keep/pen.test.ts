import type { Entry } from "../../../web/src/keep/entry";
import type { Trouble, Write } from "../../../web/src/keep/keep";
import { Pen } from "../../../web/src/keep/pen";
import { KeepError } from "../../../web/src/keep/trouble";
import { FakeTime, fix, lever, settled, T0 } from "./made";

/** A disk that can be told to refuse. */
class Disk {
  readonly rows: Entry[] = [];
  readonly sizes: number[] = [];
  refuses: Trouble | null = null;
  tries = 0;
  hang: Promise<void> | null = null;

  async put(entries: readonly Entry[]): Promise<void> {
    this.tries += 1;
    await this.hang;
    if (this.refuses !== null) throw new KeepError(this.refuses);
    this.rows.push(...entries);
    this.sizes.push(entries.length);
  }

  async last(): Promise<number> {
    return this.rows[this.rows.length - 1]?.seq ?? 0;
  }
}

const FULL: Trouble = { code: "full", message: "QuotaExceededError: no room" };

function pen(last = 0): { disk: Disk; time: FakeTime; told: Write[]; pen: Pen } {
  const disk = new Disk();
  const time = new FakeTime();
  const told: Write[] = [];
  return { disk, time, told, pen: new Pen(disk, "cab", last, (write) => told.push(write), time) };
}

const failure = (promise: Promise<number>): Promise<unknown> => promise.then((seq) => `stored as ${seq}`, (error: unknown) => error);

describe("the pen", () => {
  it("numbers entries one after another, from the last number on", async () => {
    const made = pen(41);
    expect(await made.pen.add(lever(0, "down"))).toBe(42);
    expect(await made.pen.add(lever(9, "up"))).toBe(43);
    expect(made.disk.rows.map((row) => row.seq)).toEqual([42, 43]);
    expect(made.pen.count()).toEqual({ last: 43, stored: 43 });
  });

  it("resolves only once the disk has the entry", async () => {
    const made = pen();
    let open = (): void => undefined;
    made.disk.hang = new Promise((done) => {
      open = done;
    });
    let stored = false;
    const add = async (): Promise<void> => {
      await made.pen.add(lever(0, "down"));
      stored = true;
    };
    const kept = add();
    await settled();
    expect(made.disk.tries).toBe(1);
    expect(stored).toBe(false);
    expect(made.pen.count()).toEqual({ last: 1, stored: 0 });
    open();
    await kept;
    expect(stored).toBe(true);
  });

  it("lets ten fixes a second wait for one another, and a lever take them all along at once", async () => {
    const made = pen();
    void made.pen.add(fix(0));
    await made.time.pass(1);
    for (let tenth = 1; tenth <= 5; tenth++) void made.pen.add(fix(tenth / 10));
    await made.time.pass(500);
    expect(made.disk.sizes).toEqual([1]);
    await made.pen.add(lever(0.6, "down"));
    expect(made.disk.sizes).toEqual([1, 6]);
    void made.pen.add(fix(0.7));
    await made.time.pass(899);
    expect(made.disk.sizes).toEqual([1, 6]);
    await made.time.pass(1);
    expect(made.disk.sizes).toEqual([1, 6, 1]);
  });

  it("touches the disk only when whoever gave the fix is done, and at once when it is asked to", async () => {
    const made = pen();
    void made.pen.add(fix(0));
    await settled();
    expect(made.disk.tries).toBe(0);
    await made.pen.flush();
    expect(made.disk.sizes).toEqual([1]);
  });

  it("writes a fix a second by itself", async () => {
    const made = pen();
    for (let second = 0; second < 5; second++) {
      void made.pen.add(fix(second));
      await made.time.pass(1000);
    }
    expect(made.disk.sizes).toEqual([1, 1, 1, 1, 1]);
  });

  it("says at once that the disk refused, keeps what it could not write, and writes it first later", async () => {
    const made = pen();
    await made.pen.add(lever(0, "down"));
    made.disk.refuses = FULL;
    expect(await failure(made.pen.add(lever(1, "up")))).toMatchObject({ why: FULL });
    expect(made.told[made.told.length - 1]).toMatchObject({ state: "failed", why: FULL, entries: [{ seq: 2 }] });
    const second = failure(made.pen.add(lever(2, "down")));
    expect(await second).toBeInstanceOf(KeepError);
    expect(made.pen.unstored().map((entry) => entry.seq)).toEqual([2, 3]);
    made.disk.refuses = null;
    expect(await made.pen.add(lever(3, "up"))).toBe(4);
    expect(made.disk.rows.map((row) => row.seq)).toEqual([1, 2, 3, 4]);
    expect(made.pen.unstored()).toEqual([]);
  });

  it("tries again by itself, less and less often, and leaves fixes in memory meanwhile", async () => {
    const made = pen();
    made.disk.refuses = FULL;
    for (let second = 0; second < 60; second++) {
      failure(made.pen.add(fix(second))).catch(() => undefined);
      await made.time.pass(1000);
    }
    expect(made.disk.tries).toBeGreaterThan(4);
    expect(made.disk.tries).toBeLessThan(12);
    expect(made.pen.unstored().length).toBe(60);
    made.disk.refuses = null;
    await made.time.pass(15_000);
    expect(made.disk.rows.map((row) => row.t_ms)).toEqual(Array.from({ length: 60 }, (_, s) => T0 + 1000 * s));
    expect(made.told[made.told.length - 1]?.state).toBe("stored");
  });

  it("writes a long queue in parts, so that one writing stays short", async () => {
    const made = pen();
    made.disk.refuses = FULL;
    for (let second = 0; second < 1500; second++) failure(made.pen.add(fix(second))).catch(() => undefined);
    await settled();
    made.disk.refuses = null;
    await made.time.pass(60_000);
    expect(made.disk.sizes).toEqual([600, 600, 300]);
  });

  it("leaves out what is not known and says milliseconds as whole numbers", async () => {
    const made = pen();
    const loose = { ...fix(0), t_ms: T0 + 0.4, clock_ms: T0 + 12.7, speed_m_s: Number.NaN, course_deg: null, acc_m: undefined };
    void made.pen.add(loose as unknown as Parameters<Pen["add"]>[0]);
    await made.time.pass(1);
    expect(JSON.stringify(made.disk.rows[0])).toBe(
      `{"v":1,"dev":"cab","seq":1,"t_ms":${T0},"clock_ms":${T0 + 13},"kind":"fix","lat_deg":49.73,"lon_deg":-106.21}`,
    );
  });

  it("gives the next numbers to what waits when another tab has used ours", async () => {
    const made = pen();
    await made.pen.add(lever(0, "down"));
    const put = made.disk.put.bind(made.disk);
    made.disk.put = async (entries) => {
      if (made.disk.rows.some((row) => row.seq === entries[0]?.seq)) throw new KeepError({ code: "read-only", message: "ConstraintError" });
      return put(entries);
    };
    for (const seq of [2, 3]) made.disk.rows.push({ ...(lever(1, "up") as object), v: 1, dev: "cab", seq } as Entry);
    expect(await made.pen.add(lever(2, "down"))).toBe(4);
    expect(made.disk.rows.map((row) => row.seq)).toEqual([1, 2, 3, 4]);
  });

  it("does not go round for ever when the numbers stay taken", async () => {
    const made = pen();
    made.disk.put = async () => {
      made.disk.tries += 1;
      throw new KeepError({ code: "read-only", message: "ConstraintError" });
    };
    let last = 0;
    made.disk.last = async () => (last += 1);
    expect(await failure(made.pen.add(lever(0, "down")))).toMatchObject({ why: { code: "read-only" } });
    expect(made.disk.tries).toBeLessThan(10);
  });
});
