import { stand } from "../../web/src/cab/english/stand";
import { look } from "../../web/src/desk/english/look";
import { added, answerOf, dropped, entriesOf, moved, shown, takenOf, undoOf } from "../../web/src/desk/time/changes";
import type { Lever, Question, TakenBack } from "../../web/src/desk/nouns";

const tap = (seq: number, t_ms: number, lever: "down" | "up"): Lever => ({ t_ms, lever, how: "pad", dev: "morning", seq, hidden: false });
const levers = [tap(4, 1_000, "down"), tap(9, 61_000, "up"), tap(12, 90_000, "down")];
const at = (key: string, changes = [] as Parameters<typeof shown>[1]) => {
  const found = shown(levers, changes).find((one) => one.key === key);
  if (!found) throw new Error(`no ${key}`);
  return found;
};

describe("setting a lever right", () => {
  it("a moved tap becomes an undo of the phone's entry and a new one, both about this paddock", () => {
    const changes = moved([], at("morning/9"), 55_000.4);
    expect(entriesOf(changes, "p1")).toEqual([
      { t_ms: 61_000, kind: "undo", of: 9, of_dev: "morning", paddock: "p1" },
      { t_ms: 55_000, kind: "lever", lever: "up", how: "afterwards", paddock: "p1", of_dev: "morning" },
    ]);
  });

  it("moving it twice leaves one change, and back to its place leaves none", () => {
    const once = moved([], at("morning/9"), 55_000);
    const twice = moved(once, at("morning/9", once), 50_000);
    expect(twice).toHaveLength(1);
    expect(moved(twice, at("morning/9", twice), 61_000)).toEqual([]);
  });

  it("a tap that is taken out is hidden, not replaced, and still shown", () => {
    const changes = dropped([], at("morning/12"));
    expect(entriesOf(changes, "p1")).toEqual([{ t_ms: 90_000, kind: "undo", of: 12, of_dev: "morning", paddock: "p1" }]);
    expect(at("morning/12", changes).state).toBe("dropped");
  });

  it("an added tap can be moved and taken out again without a trace", () => {
    const one = added([], "up", 70_000);
    const later = moved(one, at("added/1", one), 71_500);
    expect(entriesOf(later, "p1")).toEqual([{ t_ms: 71_500, kind: "lever", lever: "up", how: "afterwards", paddock: "p1" }]);
    expect(dropped(later, at("added/1", later))).toEqual([]);
  });

  it("where several rigs worked, an added tap names a phone of the rig whose line it is", () => {
    expect(entriesOf(added([], "up", 70_000), "p1", "morning")).toEqual([{ t_ms: 70_000, kind: "lever", lever: "up", how: "afterwards", paddock: "p1", of_dev: "morning" }]);
  });

  it("a tap that the desk added for a rig is moved for that rig", () => {
    const lever: Lever = { ...tap(3, 61_000, "up"), dev: "desk", of_dev: "morning" };
    const changes = moved([], shown([lever], [])[0] ?? at("none"), 55_000);
    expect(entriesOf(changes, "p1", "morning")).toEqual([
      { t_ms: 61_000, kind: "undo", of: 3, of_dev: "desk", paddock: "p1" },
      { t_ms: 55_000, kind: "lever", lever: "up", how: "afterwards", paddock: "p1", of_dev: "morning" },
    ]);
  });

  it("two added taps have keys of their own", () => {
    const two = added(added([], "up", 70_000), "down", 80_000);
    expect(shown(levers, two).map((one) => one.key)).toEqual(["morning/4", "morning/9", "added/1", "added/2", "morning/12"]);
  });

  it("taking it back undoes each entry under the number it was given", () => {
    const entries = entriesOf(moved([], at("morning/9"), 55_000), "p1");
    expect(undoOf(entries, [31, 32], "p1")).toEqual([
      { t_ms: 61_000, kind: "undo", of: 31, paddock: "p1" },
      { t_ms: 55_000, kind: "undo", of: 32, paddock: "p1" },
    ]);
  });
});

describe("answering a question", () => {
  const question: Question = { number: 1, kind: "blind", from_ms: 5, to_ms: 9, lon: 0, lat: 0, text: "Down?", answers: { down: 12, up: 0 } };

  it("a stretch without positions is answered by a blind entry", () => {
    expect(answerOf(question, "down", "p1")).toEqual({ t_ms: 9, kind: "blind", from_ms: 5, to_ms: 9, answer: "down", paddock: "p1" });
  });

  it("where several rigs worked it names the phone that it is about", () => {
    expect(answerOf({ ...question, phone: "morning" }, "up", "p1")).toMatchObject({ answer: "up", of_dev: "morning" });
  });

  it("any other is answered by a say entry that names what it is about", () => {
    expect(answerOf({ ...question, kind: "inverted" }, "swapped", "p1")).toEqual({
      t_ms: 9, kind: "say", from_ms: 5, to_ms: 9, answer: "swapped", about: "inverted", prompt: "Down?", paddock: "p1",
    });
  });
});

describe("a press that Oops took back", () => {
  const taken: TakenBack = { dev: "morning", seq: 9, lever: "up", from_ms: 60_000, to_ms: 63_000, answers: { leave: null, oops: 63_000, edge: 48_000 }, again_seq: null };
  const said = { t_ms: 63_000, kind: "say", about: "oops", of: 9, prompt: "When?", from_ms: 60_000, to_ms: 63_000, of_dev: "morning", paddock: "p1" };
  const set = { t_ms: 48_000, kind: "lever", lever: "up", how: "afterwards", of_dev: "morning", paddock: "p1" };

  it("is set at the moment that was answered, and said to be answered", () => {
    expect(takenOf(taken, "edge", "When?", "p1")).toEqual([set, { ...said, answer: "edge" }]);
  });

  it("stays away where that is the answer", () => {
    expect(takenOf(taken, "leave", "When?", "p1")).toEqual([{ ...said, answer: "leave" }]);
  });

  it("takes the place of the same press made again meanwhile", () => {
    const again = { ...taken, answers: { again: null, edge: 48_000 }, again_seq: 12 };
    const gone = { t_ms: 63_000, kind: "undo", of: 12, of_dev: "morning", paddock: "p1" };
    expect(takenOf(again, "edge", "When?", "p1")).toEqual([set, gone, { ...said, answer: "edge" }]);
    expect(takenOf(again, "again", "When?", "p1")).toEqual([{ ...said, answer: "again" }]);
  });

  it("is asked in the phone's own words", () => {
    const desk = look("field").questions;
    const phone = stand("field").questions;
    expect(desk.taken).toEqual({ down: phone.asked["oops-down"], up: phone.asked["oops-up"] });
    for (const [word, text] of Object.entries(phone.oops)) expect(desk.oops(word)).toBe(text);
  });
});
