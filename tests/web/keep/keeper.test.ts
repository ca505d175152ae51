import type { Line } from "../../../web/src/formats/log";
import { readLines } from "../../../web/src/formats/log";
import type { Keeper, Write } from "../../../web/src/keep/keep";
import { CHUNK, KEPT_MS } from "../../../web/src/keep/room";
import { Shelf } from "../../../web/src/keep/shelf";
import { KeepError } from "../../../web/src/keep/trouble";
import { FakeLocks, fix, freshStorage, lever, settled, T0, tab, textOf, written } from "./made";

let locks = new FakeLocks();
const open: Keeper[] = [];
const opened = async (...given: Parameters<typeof tab>): Promise<Keeper> => {
  const log = await tab(...given);
  open.push(log);
  return log;
};

beforeEach(() => {
  freshStorage();
  locks = new FakeLocks();
});
afterEach(async () => {
  for (const log of open.splice(0)) await log.close();
});

const many = (count: number, first = 0): ReturnType<typeof fix>[] => Array.from({ length: count }, (_, s) => fix(first + s));

/** Once everything that packs in the background has come to rest. */
async function packed(log: Keeper, chunks: number): Promise<void> {
  const shelf = new Shelf("test");
  for (let n = 0; n < 200; n++) {
    await settled();
    const found = await shelf.read(["chunks"], async (tx) => tx.objectStore("chunks").count());
    if (found === chunks) return shelf.close();
  }
  await shelf.close();
  throw new Error(`${chunks} chunks were expected of ${log.dev}`);
}

describe("the log of this phone", () => {
  it("takes in nothing whatever while the phone only looks, and goes on where it was afterwards", async () => {
    const log = await opened(locks);
    await written(log, [fix(0)]);
    const roles: boolean[] = [];
    log.onRole((writes) => void roles.push(writes));
    log.look(true);
    await expect(log.append(lever(1, "down"))).rejects.toThrow("only looks");
    expect([log.writes, log.unstored(), log.count().last]).toEqual([false, [], 1]);
    expect(readLines(await textOf(log)).lines).toHaveLength(1);
    log.look(false);
    expect(await written(log, [fix(2)])).toEqual([2]);
    expect(roles).toEqual([false, true]);
  });

  it("goes on under the same label with the next number after it was opened anew", async () => {
    const first = await opened(locks);
    expect(await written(first, [fix(0), lever(1, "down"), fix(2)])).toEqual([1, 2, 3]);
    await first.close();
    const second = await opened(locks);
    expect(second.dev).toBe(first.dev);
    expect(second.dev).toMatch(/^phone-[0-9a-z]{12}$/);
    expect(await written(second, [fix(3)])).toEqual([4]);
    expect(readLines(await textOf(second)).lines.map((line) => line.seq)).toEqual([1, 2, 3, 4]);
  });

  it("is the same before and after ten minutes of it are packed", async () => {
    const log = await opened(locks);
    const drafts = many(CHUNK + 30);
    drafts.splice(100, 0, lever(100.5, "down"), { kind: "mark", t_ms: T0 + 100_600, what: "stone", side: "left" });
    await written(log, drafts);
    await packed(log, 1);
    const text = await textOf(log);
    expect(readLines(text).lines.map((line) => line.seq)).toEqual(drafts.map((_, at) => at + 1));
    expect(text.split("\n")[100]).toBe(
      `{"v":1,"dev":"${log.dev}","seq":101,"t_ms":${T0 + 100_500},"kind":"lever","lever":"down","how":"pad"}`,
    );
    const { fixes, marks } = await log.log();
    expect(fixes.t_ms.length).toBe(CHUNK + 30);
    expect(Array.from(fixes.t_ms)).toEqual(many(CHUNK + 30).map((draft) => draft.t_ms));
    expect(fixes.phones).toEqual([log.dev]);
    expect(marks.map((mark) => [mark.kind, mark.seq])).toEqual([["lever", 101], ["mark", 102]]);
  });

  it("reads back from a moment on, whether packed or not", async () => {
    const log = await opened(locks);
    await written(log, many(CHUNK + 50));
    await packed(log, 1);
    const found = await log.fixes(T0 + 590_000);
    expect(Array.from(found.t_ms)).toEqual(many(CHUNK + 50).slice(590).map((draft) => draft.t_ms));
    expect(found.lat_deg[0]).toBe(49.73 + 1e-5 * 590);
    expect(Number.isNaN(found.speed_m_s[0] ?? 0)).toBe(true);
  });

  it("hides what was undone and deletes nothing", async () => {
    const log = await opened(locks);
    await written(log, [lever(0, "down"), lever(5, "up"), { kind: "undo", t_ms: T0 + 6000, of: 2 }]);
    expect((await log.marks()).map((mark) => mark.kind)).toEqual(["lever", "hidden", "undo"]);
    expect((await textOf(log)).split("\n").length).toBe(4);
  });

  it("gives entries by number from chunks and from what is loose", async () => {
    const log = await opened(locks);
    await written(log, many(CHUNK + 20));
    await packed(log, 1);
    const seqs = async (first: number, last: number, most: number): Promise<number[]> => (await log.entries(first, last, most)).map((each) => each.seq);
    expect(await seqs(1, 3, 100)).toEqual([1, 2, 3]);
    expect(await seqs(598, 603, 100)).toEqual([598, 599, 600, 601, 602, 603]);
    expect(await seqs(598, 603, 3)).toEqual([598, 599, 600]);
    expect(await seqs(610, 9999, 4)).toEqual([610, 611, 612, 613]);
    expect(await seqs(700, 800, 100)).toEqual([]);
  });
});

describe("two tabs", () => {
  it("only the first writes; the other takes over when it is closed, and numbers go on", async () => {
    const first = await opened(locks);
    const second = await opened(locks);
    expect([first.writes, second.writes]).toEqual([true, false]);
    await written(first, [fix(0), fix(1)]);
    await expect(second.append(fix(2))).rejects.toMatchObject({ why: { code: "read-only" } });
    expect(readLines(await textOf(second)).lines.length).toBe(2);
    const turned: boolean[] = [];
    second.onRole((writes) => turned.push(writes));
    await first.close();
    for (let n = 0; n < 50 && !second.writes; n++) await settled();
    expect(turned).toEqual([true]);
    expect(second.dev).toBe(first.dev);
    expect(await written(second, [fix(2)])).toEqual([3]);
  });

  it("a tab that is closed while it waits never writes", async () => {
    const first = await opened(locks);
    const second = await opened(locks);
    await second.close();
    await first.close();
    await settled();
    expect(second.writes).toBe(false);
  });

  it("where the browser has no locks, numbers are never used twice", async () => {
    const tabs = [await opened(undefined), await opened(undefined)] as const;
    const numbers: number[] = [];
    for (let second = 0; second < 20; second++) {
      const log = tabs[second % 3 === 0 ? 0 : 1];
      numbers.push(...(await written(log, [lever(second, "down")])));
    }
    expect(numbers).toEqual(Array.from({ length: 20 }, (_, at) => at + 1));
    const lines = readLines(await textOf(tabs[0])).lines;
    expect(lines.map((line) => line.t_ms)).toEqual(numbers.map((_, at) => T0 + 1000 * at));
  });
});

describe("what home has", () => {
  const DAY = 86_400_000;

  it("stays thirty days after home said so, and goes then", async () => {
    let now = T0;
    const log = await opened(locks, { clock: () => now });
    await written(log, many(2 * CHUNK));
    await packed(log, 2);
    await log.hold(CHUNK + 10);
    expect(log.count()).toEqual({ last: 2 * CHUNK, stored: 2 * CHUNK, held: CHUNK + 10 });
    now += KEPT_MS - 1;
    await log.hold(CHUNK + 11);
    expect((await log.entries(1, 1, 1)).length).toBe(1);
    now += DAY;
    await log.hold(CHUNK + 12);
    expect((await log.entries(1, CHUNK, 1)).length).toBe(0);
    expect((await log.entries(CHUNK + 1, 2 * CHUNK, 5000)).length).toBe(CHUNK);
  });

  it("is believed when it says less: a house restored from an older backup gets it again", async () => {
    let now = T0;
    const log = await opened(locks, { clock: () => now });
    await written(log, many(2 * CHUNK));
    await packed(log, 2);
    await log.hold(2 * CHUNK);
    await log.hold(100);
    expect(log.count().held).toBe(100);
    now += KEPT_MS + DAY;
    await log.hold(101);
    expect((await log.entries(1, 2 * CHUNK, 5000)).length).toBe(2 * CHUNK);
  });

  it("numbers go on where everything was dropped", async () => {
    let now = T0;
    const log = await opened(locks, { clock: () => now });
    await written(log, many(CHUNK));
    await packed(log, 1);
    await log.hold(CHUNK);
    now += KEPT_MS + DAY;
    await written(log, [fix(CHUNK)]);
    await log.hold(CHUNK + 1);
    await log.close();
    const again = await opened(locks);
    expect(again.count()).toEqual({ last: CHUNK + 1, stored: CHUNK + 1, held: CHUNK + 1 });
    expect(await written(again, [fix(CHUNK + 1)])).toEqual([CHUNK + 2]);
  });
});

/** A storage with only so many bytes, told as browsers tell it. */
class Small extends Shelf {
  room = Infinity;

  override write: Shelf["write"] = async (stores, work) => {
    const names: readonly string[] = stores;
    if (names.includes("tail") && this.room <= 0) throw new KeepError({ code: "full", message: "QuotaExceededError" });
    const value = await Shelf.prototype.write.call(this, stores, work as never);
    if (names.includes("chunks") && names.includes("facts") && Number(value) > 0) this.room = Infinity; // something was dropped
    return value as never;
  };
}

describe("a full phone", () => {
  it("lets go of the oldest that home has, and nothing else", async () => {
    const shelf = new Small("test");
    const log = await opened(locks, { shelf });
    await written(log, many(3 * CHUNK));
    await packed(log, 3);
    await log.hold(CHUNK + 50);
    shelf.room = 0;
    expect(await written(log, [lever(9999, "down")])).toEqual([3 * CHUNK + 1]);
    expect((await log.entries(1, CHUNK, 1)).length).toBe(0);
    expect((await log.entries(CHUNK + 1, 3 * CHUNK, 5000)).length).toBe(2 * CHUNK);
  });

  it("says so where home has nothing yet, goes on in memory, and gives it all as a file", async () => {
    const shelf = new Small("test");
    const log = await opened(locks, { shelf });
    await written(log, [fix(0)]);
    const told: Write[] = [];
    log.onWrite((write) => told.push(write));
    shelf.room = 0;
    await expect(log.append(lever(1, "down"))).rejects.toMatchObject({ why: { code: "full" } });
    expect(told.map((write) => write.state)).toEqual(["failed"]);
    expect(log.count()).toMatchObject({ last: 2, stored: 1 });
    expect(readLines(await textOf(log)).lines.map((line) => [line.seq, line.kind])).toEqual([[1, "fix"], [2, "lever"]]);
    expect((await log.marks()).map((mark) => mark.says["lever"])).toEqual(["down"]);
    shelf.room = Infinity;
    expect(await written(log, [lever(2, "up")])).toEqual([3]);
    expect(log.count()).toMatchObject({ last: 3, stored: 3 });
  });

  it("where the storage does not open at all, the log still lives in memory and in the file", async () => {
    Object.assign(globalThis, { indexedDB: { open: () => { throw new DOMException("denied", "SecurityError"); } } });
    const log = await opened(locks);
    await expect(log.append(lever(1, "down"))).rejects.toBeInstanceOf(KeepError);
    expect(await textOf(log)).toContain('"lever":"down"');
  });

  it("does not go on under old numbers in a storage that was cleared meanwhile", async () => {
    const shelf = new Shelf("test");
    const log = await opened(locks, { shelf });
    await written(log, [fix(0), fix(1)]);
    await shelf.close();
    freshStorage();
    await expect(log.append(lever(2, "down"))).rejects.toMatchObject({ why: { code: "closed" } });
    expect(readLines(await textOf(log)).lines.map((line) => line.seq)).toEqual([3]);
  });
});

describe("a new phone", () => {
  it("begins at number 1 under a new label and keeps what was logged before", async () => {
    const log = await opened(locks);
    await written(log, [fix(0), fix(1)]);
    await log.hold(1);
    await log.renew();
    await log.close();
    const again = await opened(locks);
    expect(again.dev).not.toBe(log.dev);
    expect(again.count()).toEqual({ last: 0, stored: 0, held: 0 });
    expect(await written(again, [fix(2)])).toEqual([1]);
    const lines = readLines(await textOf(again)).lines;
    expect(lines.map((line) => [line.dev, line.seq]).toSorted()).toEqual([[log.dev, 1], [log.dev, 2], [again.dev, 1]].toSorted());
    expect((await again.fixes()).phones.toSorted()).toEqual([log.dev, again.dev].toSorted());
  });
});

describe("another phone's log, brought as a file", () => {
  const theirs = (first: number, count: number): Line[] =>
    Array.from({ length: count }, (_, at) => ({ v: 1, dev: "ute", seq: first + at, t_ms: T0 + 1000 * (first + at), kind: "fix", lat_deg: 1, lon_deg: 2 }));

  it("is kept once, however often and in whatever parts it comes", async () => {
    const log = await opened(locks);
    expect(await log.bring(theirs(1, 700))).toEqual({ kept: 700, again: 0 });
    expect(await log.bring(theirs(690, 20))).toEqual({ kept: 9, again: 11 });
    expect(await log.bring(theirs(5000, 3))).toEqual({ kept: 3, again: 0 });
    expect(await log.bring(theirs(1, 700))).toEqual({ kept: 0, again: 700 });
    const { fixes } = await log.log();
    expect(fixes.t_ms.length).toBe(712);
    expect(fixes.phones).toEqual(["ute"]);
  });

  it("is read whole in whatever parts it is read, also where many parts end at one moment", async () => {
    const log = await opened(locks);
    // forty writers' parts end at one moment, and forty parts of one writer one after another
    const line = (dev: string, seq: number, s: number): Line => ({ ...fix(s), v: 1, dev, seq }) as unknown as Line;
    const together = Array.from({ length: 40 }, (_, k) => line(`at-once-${k}`, 1, 500));
    const apart = Array.from({ length: 40 }, (_, k) => line("apart", 1 + 2 * k, 480 + k));
    expect(await log.bring([...together, ...apart])).toEqual({ kept: 80, again: 0 });
    for (const since_s of [0, 490, 500, 501]) {
      const { t_ms, phone, phones } = await log.fixes(T0 + 1000 * since_s);
      const found = Array.from(t_ms, (t, i) => `${phones[phone[i] ?? 0]} ${(t - T0) / 1000}`).toSorted();
      const wanted = [...together, ...apart].filter(({ t_ms: t }) => t >= T0 + 1000 * since_s);
      expect(found).toEqual(wanted.map(({ dev, t_ms: t }) => `${dev} ${(t - T0) / 1000}`).toSorted());
    }
  });

  it("stands beside our own, and never takes our numbers", async () => {
    const log = await opened(locks);
    await written(log, [fix(0)]);
    const ours: Line = { v: 1, dev: log.dev, seq: 2, t_ms: T0, kind: "stop" };
    expect(await log.bring([...theirs(1, 2), ours])).toEqual({ kept: 2, again: 1 });
    expect(await written(log, [fix(1)])).toEqual([2]);
    expect((await log.marks()).length).toBe(0);
    const { fixes } = await log.log();
    expect(Array.from(fixes.phone, (at) => fixes.phones[at])).toEqual(["ute", "ute", log.dev, log.dev]);
  });
});

describe("what pages want to find again", () => {
  it("is found after the page was opened anew, and is no part of the log", async () => {
    const log = await opened(locks);
    expect(await log.recall("hand")).toBeUndefined();
    await log.remember("hand", { side: "left" });
    await log.close();
    const again = await opened(locks);
    expect(await again.recall("hand")).toEqual({ side: "left" });
    expect(await textOf(again)).toBe("");
    await again.remember("hand", undefined);
    expect(await again.recall("hand")).toBeUndefined();
  });
});
