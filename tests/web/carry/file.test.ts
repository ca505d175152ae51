import { logFile, nameOf, takeIn } from "../../../web/src/carry/file";
import { FakeLocks, fix, freshStorage, lever, T0, tab, written } from "../keep/made";

const file = (text: string, name = "given.jsonl"): File => new File([text], name);

describe("files", () => {
  beforeEach(freshStorage);

  it("a log goes out under its writer's name and comes in on another phone once", async () => {
    const log = await tab(new FakeLocks());
    await written(log, [fix(0), lever(1, "down")]);
    const out = await logFile(log, T0);
    expect(out.name).toBe(`unsown-${log.dev}-2026-05-01-12-00.jsonl`);
    const text = await out.text();
    await log.close();
    freshStorage();
    const other = await tab(new FakeLocks());
    expect(await takeIn(file(text), other, T0)).toEqual({ what: "log", kept: 2, again: 0, skipped: {} });
    expect(await takeIn(file(text), other, T0)).toEqual({ what: "log", kept: 0, again: 2, skipped: {} });
    expect((await other.marks()).map((mark) => [mark.phone, mark.kind])).toEqual([[log.dev, "lever"]]);
    await other.close();
  });

  it("what is no entry is counted and left out; a cut-off last line too", async () => {
    const log = await tab(new FakeLocks());
    const text = '{"v":1,"dev":"ute","seq":1,"t_ms":1,"kind":"stop"}\nnot json\n{"kind":"stop","t_ms":2}\n{"v":1,"dev":"ute","se';
    expect(await takeIn(file(text), log, T0)).toEqual({
      what: "log", kept: 1, again: 0,
      skipped: { "line that is not JSON": 1, "entry without a writer and a number": 1, "last line, cut off": 1 },
    });
    await log.close();
  });

  it("something else is refused with what to do", async () => {
    const log = await tab(new FakeLocks());
    await expect(takeIn(file("<gpx/>", "track.gpx"), log, T0)).rejects.toMatchObject({ code: "file-unknown", where: "track.gpx" });
    await expect(takeIn(file('{"paddocks":[],"rigs":[],"settings":{}}'), log, T0)).rejects.toMatchObject({ code: "pack-bad" });
    expect(await log.recall("pack")).toBeUndefined();
    await log.close();
  });

  it("names carry no sign that a file system refuses", () => {
    expect(nameOf("phone-1", Date.UTC(2026, 0, 2, 3, 4))).toBe("unsown-phone-1-2026-01-02-03-04.jsonl");
  });
});
