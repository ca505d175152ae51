// What waits for the next frame: asked for once, drawn in order, and no failure takes the others with it.
import { nextFrame, noFrame } from "../../../web/src/cab/work/frame";

/** Frames that come when the test says so. */
class FakeScreen {
  readonly asked: ((stamp: number) => void)[] = [];

  show(stamp: number): void {
    for (const act of this.asked.splice(0)) act(stamp);
  }
}

const tick = (): Promise<void> => new Promise((resolve) => setTimeout(resolve, 5));

describe("the next frame", () => {
  const screen = new FakeScreen();

  beforeAll(() => {
    globalThis.requestAnimationFrame = (act) => screen.asked.push(act);
  });

  it("is asked for once, whoever wants it and however often, and each is called once, in order", async () => {
    const seen: string[] = [];
    const [draw, write] = [(at: number) => seen.push(`draw ${at}`), (at: number) => seen.push(`write ${at}`)];
    for (let k = 0; k < 5; k++) [draw, write].forEach(nextFrame);
    expect(screen.asked).toHaveLength(0); // not while a position is taken in
    await tick();
    expect(screen.asked).toHaveLength(1);
    screen.show(16);
    expect(seen).toEqual(["draw 16", "write 16"]);
    await tick();
    expect(screen.asked).toHaveLength(0);
  });

  it("calls nobody who does not want it any more", async () => {
    const seen: number[] = [];
    const draw = (at: number): void => void seen.push(at);
    nextFrame(draw);
    noFrame(draw);
    await tick();
    screen.show(16);
    expect(seen).toEqual([]);
  });

  it("shows the texts where the picture cannot be drawn, and still says that it could not", async () => {
    const seen: string[] = [];
    nextFrame(() => {
      throw new Error("no canvas");
    });
    nextFrame(() => void seen.push("text"));
    await tick();
    const [later, real] = [[] as (() => void)[], globalThis.setTimeout];
    globalThis.setTimeout = ((act: () => void) => later.push(act)) as unknown as typeof setTimeout;
    screen.show(16);
    globalThis.setTimeout = real;
    expect(seen).toEqual(["text"]);
    expect(later).toHaveLength(1);
    expect(later[0]).toThrow("no canvas");
  });
});
