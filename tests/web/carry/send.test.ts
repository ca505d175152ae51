import { CallError } from "../../../web/src/carry/call";
import { Courier, type Sending, type Timing } from "../../../web/src/carry/courier";
import type { Home } from "../../../web/src/carry/pair";
import { sendAll, type Outbox } from "../../../web/src/carry/send";
import type { Entry } from "../../../web/src/keep/entry";
import { FakeTime, T0, settled, until } from "../keep/made";
import { FakeHome, json, nobody } from "./home";

const HOME: Home = { dev: "phone-1", token: "secret", may: "keeper", name: "morning", paired_ms: T0 };

/** A log of numbers up to `stored`, of which those before `from` were dropped. */
class Log implements Outbox {
  readonly dev = "phone-1";
  held = 0;
  readonly holds: number[] = [];

  constructor(
    public stored: number,
    readonly from = 1,
  ) {}

  count(): { last: number; stored: number; held: number } {
    return { last: this.stored, stored: this.stored, held: this.held };
  }

  async hold(held: number): Promise<void> {
    this.held = held;
    this.holds.push(held);
  }

  async entries(first: number, last: number, most: number): Promise<readonly Entry[]> {
    const out: Entry[] = [];
    for (let seq = Math.max(first, this.from); seq <= last && out.length < most; seq++) out.push({ v: 1, dev: this.dev, seq, t_ms: T0 + seq, kind: "stop" });
    return out;
  }
}

class Fixed extends FakeTime implements Timing {
  chance(): number {
    return 1;
  }
}

describe("sending the log", () => {
  it("sends what comes after the last number home holds, packed, under the phone's token", async () => {
    const home = new FakeHome();
    home.held = 3;
    const log = new Log(7);
    const left: number[] = [];
    await sendAll(log, HOME, (count) => left.push(count), home.fetch);
    expect(home.puts()).toEqual([["/api/phones/phone-1/entries/4", 4]]);
    expect(home.sent[1]?.headers).toMatchObject({ Authorization: "Bearer secret", "Content-Encoding": "gzip" });
    expect(JSON.parse(home.sent[1]?.lines[0] ?? "")).toEqual({ v: 1, dev: "phone-1", seq: 4, t_ms: T0 + 4, kind: "stop" });
    expect(log.held).toBe(7);
    expect(left).toEqual([4]);
  });

  it("hears from home of another phone that keeps the same log, and of none from an older home", async () => {
    const home = new FakeHome();
    home.also = "phone-2";
    expect(await sendAll(new Log(2), HOME, () => undefined, home.fetch)).toBe("phone-2");
    const heard: (string | null)[] = [];
    const carrier = new Courier(new Log(2), () => HOME, () => undefined, (also) => heard.push(also), home.fetch, new Fixed());
    await carrier.go();
    home.next.push(() => json(200, { held: 2, wanted: [] }));
    await carrier.go();
    carrier.end();
    expect(heard).toEqual(["phone-2", null]);
  });

  it("sends nothing where home has everything", async () => {
    const home = new FakeHome();
    home.held = 7;
    await sendAll(new Log(7), HOME, () => undefined, home.fetch);
    expect(home.sent.map((each) => each.method)).toEqual(["GET"]);
  });

  it("sends a long day in parts and goes on after a break where home stands", async () => {
    const home = new FakeHome();
    const log = new Log(6000);
    home.next.push(() => json(200, { held: 0 }));
    home.next.push(() => json(200, { held: 2500 }), nobody);
    await expect(sendAll(log, HOME, () => undefined, home.fetch)).rejects.toMatchObject({ status: 0, passes: true });
    home.held = 2500;
    for (let seq = 1; seq <= 2500; seq++) home.kept.set(seq, "");
    await sendAll(log, HOME, () => undefined, home.fetch);
    expect(home.puts().slice(-2)).toEqual([["/api/phones/phone-1/entries/2501", 2500], ["/api/phones/phone-1/entries/5001", 1000]]);
    expect([home.held, log.held]).toEqual([6000, 6000]);
  });

  it("gives again what home lost, and takes what it says even where it is less", async () => {
    const home = new FakeHome();
    const log = new Log(100);
    await sendAll(log, HOME, () => undefined, home.fetch);
    home.held = 40;
    for (let seq = 41; seq <= 60; seq++) home.kept.delete(seq);
    await sendAll(log, HOME, () => undefined, home.fetch);
    expect(home.held).toBe(100);
    expect(log.holds).toContain(40);
    expect(log.held).toBe(100);
  });

  it("says which entries are gone where home wants some that were dropped", async () => {
    const home = new FakeHome();
    const sent = sendAll(new Log(100, 61), HOME, () => undefined, home.fetch);
    await expect(sent).rejects.toMatchObject({ code: "entries-gone", passes: false, message: "home wants entries from 1 on; this phone has them from 61 on" });
    expect(home.puts()).toEqual([]);
  });

  it("does not send the same for ever to a home that does not count it", async () => {
    const home = new FakeHome();
    home.next.push(() => json(200, { held: 0 }), () => json(200, { held: 0 }));
    await expect(sendAll(new Log(5), HOME, () => undefined, home.fetch)).rejects.toMatchObject({ code: "held-back", passes: false });
    expect(home.puts().length).toBe(1);
  });

  it("sends unpacked where the browser cannot pack", async () => {
    const home = new FakeHome();
    const packer = globalThis.CompressionStream;
    Reflect.deleteProperty(globalThis, "CompressionStream");
    try {
      await sendAll(new Log(2), HOME, () => undefined, home.fetch);
    } finally {
      globalThis.CompressionStream = packer;
    }
    expect(home.sent[1]?.headers["Content-Encoding"]).toBeUndefined();
    expect(home.held).toBe(2);
  });
});

function courier(log: Outbox, home: FakeHome, to: Home | null = HOME): { time: Fixed; told: Sending[]; courier: Courier } {
  const time = new Fixed();
  const told: Sending[] = [];
  return { time, told, courier: new Courier(log, () => to, (sending) => told.push(sending), () => undefined, home.fetch, time) };
}

describe("the courier", () => {
  it("sends at once and then looks in from time to time for what came since", async () => {
    const home = new FakeHome();
    const log = new Log(3);
    const made = courier(log, home);
    await made.courier.go();
    expect(made.told).toEqual([{ state: "sending", left: 3 }, { state: "home", at_ms: 0 }]);
    log.stored = 5;
    await made.time.pass(60_000);
    await until(() => home.held === 5);
  });

  it("waits twice as long after each try without network, five minutes at most, and says until when", async () => {
    const home = new FakeHome();
    const made = courier(new Log(3), home);
    const waits: number[] = [];
    for (let n = 0; n < 9; n++) {
      home.next.push(nobody);
      await (n === 0 ? made.courier.go() : made.time.pass(waits[n - 1] ?? 0));
      const last = made.told[made.told.length - 1];
      if (last?.state !== "waiting") throw new Error(`waiting was expected, ${last?.state} came`);
      waits.push(last.until_ms - made.time.now());
    }
    expect(waits).toEqual([5, 10, 20, 40, 80, 160, 300, 300, 300].map((s) => s * 1000));
    await made.time.pass(300_000);
    await until(() => made.told[made.told.length - 1]?.state === "home");
    expect(home.held).toBe(3);
  });

  it("tries at once when the network comes back, whatever it still had to wait", async () => {
    const home = new FakeHome();
    home.next.push(nobody, nobody, nobody);
    const made = courier(new Log(3), home);
    await made.courier.go();
    await made.time.pass(20_000);
    await made.courier.go();
    expect(home.held).toBe(3);
  });

  it.each([500, 502, 503, 429, 408])("waits on %i", async (status) => {
    const home = new FakeHome();
    home.next.push(() => json(status, { error: { code: "x", message: "not now" } }));
    const made = courier(new Log(3), home);
    await made.courier.go();
    expect(made.told[made.told.length - 1]?.state).toBe("waiting");
    await made.time.pass(5_000);
    await until(() => home.held === 3);
  });

  it("waits as long as home asks for", async () => {
    const home = new FakeHome();
    home.next.push(() => json(503, { error: { code: "store-busy", message: "not now" } }, { "Retry-After": "120" }));
    const made = courier(new Log(3), home);
    await made.courier.go();
    await made.time.pass(119_000);
    expect(home.held).toBe(0);
    await made.time.pass(1_000);
    await until(() => home.held === 3);
  });

  it.each([400, 401, 403, 409, 413, 422])("stops on %i, says why, and begins again only when asked to", async (status) => {
    const home = new FakeHome();
    home.next.push(() => json(status, { error: { code: "refused", message: "No.", hint: "Ask at home." } }));
    const made = courier(new Log(3), home);
    await made.courier.go();
    const last = made.told[made.told.length - 1];
    expect(last).toMatchObject({ state: "stopped", why: { status, code: "refused", message: "No.", hint: "Ask at home." } });
    await made.courier.go();
    await made.time.pass(3_600_000);
    expect(home.held).toBe(0);
    await made.courier.go(true);
    expect(home.held).toBe(3);
  });

  it("sends one thing at a time, and once more what came meanwhile", async () => {
    const home = new FakeHome();
    const log = new Log(3);
    const made = courier(log, home);
    const first = made.courier.go();
    log.stored = 4;
    await Promise.all([first, made.courier.go(), made.courier.go()]);
    expect(home.held).toBe(4);
    expect(home.sent.filter((each) => each.method === "GET").length).toBeLessThanOrEqual(2);
  });

  it("sends nothing where the phone has no home", async () => {
    const home = new FakeHome();
    const made = courier(new Log(3), home, null);
    await made.courier.go();
    expect(made.told).toEqual([{ state: "unpaired" }]);
    expect(home.sent).toEqual([]);
  });

  it("ends when it is told to", async () => {
    const home = new FakeHome();
    home.next.push(nobody);
    const made = courier(new Log(3), home);
    await made.courier.go();
    made.courier.end();
    await made.time.pass(3_600_000);
    await settled();
    expect(home.sent.length).toBe(1);
  });
});

describe("an error", () => {
  it("of a page that is no JSON still says its status", () => {
    expect(new CallError(502, "502", "")).toMatchObject({ passes: true, held: null, after_s: null });
  });
});
