import { takeIn } from "../../../web/src/carry/file";
import { handedName, handingFile, readHanding } from "../../../web/src/carry/handing";
import { FakeLocks, fix, freshStorage, lever, T0, tab, written } from "../keep/made";

const TOLD = { at_ms: T0 + 5_000, lever: "down", driver: "morning", script: "Long Pan.", pin: "1332", before: [] } as const;
const PACK = { fetched_ms: T0, json: { paddocks: "kept as it came" } };

describe("a handover", () => {
  beforeEach(freshStorage);

  it("brings the whole log and says where it stood; carried in twice it changes nothing", async () => {
    const log = await tab(new FakeLocks());
    await written(log, [fix(0), lever(1, "down"), fix(2)]);
    const { file, handed } = await handingFile(log, TOLD, undefined);
    expect(handed).toEqual({ ...TOLD, dev: log.dev, seq: 3 });
    const text = await file.text();
    await log.close();
    freshStorage();
    const other = await tab(new FakeLocks());
    const given = new File([text], file.name);
    expect(await takeIn(given, other, T0)).toEqual({ what: "handover", handed, pack: null, kept: 3, again: 0 });
    expect(await takeIn(given, other, T0)).toMatchObject({ kept: 0, again: 3 });
    expect((await other.marks()).map((mark) => [mark.phone, mark.kind])).toEqual([[log.dev, "lever"]]);
    await other.close();
  });

  it("carries the pack as it came from home", async () => {
    const log = await tab(new FakeLocks());
    const { file } = await handingFile(log, TOLD, PACK);
    expect(readHanding(await file.text(), "x")?.pack).toEqual(PACK);
    await log.close();
  });

  it("is refused where it was cut off, with what to do; another file is none", () => {
    expect(() => readHanding('{"handover":{"dev":"phone-1","se', "cut.txt")).toThrow("cut off");
    expect(() => readHanding('{"handover":{"dev":"phone-1"}}\n', "cut.txt")).toThrow("cut off");
    expect(readHanding('{"v":1,"dev":"cab","seq":1}\n', "day.jsonl")).toBe(null);
  });

  it("has a name that phones let each other have", () => {
    expect(handedName("phone-1", Date.UTC(2026, 4, 3, 16, 20))).toBe("unsown-handover-phone-1-2026-05-03-16-20.txt");
  });
});
