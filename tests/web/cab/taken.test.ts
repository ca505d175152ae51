import { hide } from "../../../web/src/formats/log";
import { ranksBehind } from "../../../web/src/core/cue";
import { stopDelay } from "../../../web/src/core/lever";
import { tapped } from "../../../web/src/core/told";
import type { Mark } from "../../../web/src/core/words";
import { takenBack } from "../../../web/src/cab/stand/taken";
import type { Draft } from "../../../web/src/keep/entry";
import { driving } from "../../../web/src/cab/work/driving";
import { Driver, T0_MS } from "./drive";
import { RIG } from "./rig";
import { drove, over, rigged, settle } from "./rigged";

const DEV = "phone-test";
const LATER_MS = T0_MS + 1_000_000;

/** A log of lever presses, `[seconds, word]`, with Oops as `[seconds, number taken back, edge]`. */
function logged(...rows: readonly (readonly [number, string | number, number?])[]): Mark[] {
  const marks = rows.map(([s, what, edge_s], i): Mark => {
    const oops = { of: what, about: "oops", ...(edge_s === undefined ? {} : { edge_ms: T0_MS + edge_s * 1000 }) };
    const says = typeof what === "string" ? { lever: what, how: "pad" } : oops;
    return { t_ms: T0_MS + s * 1000, kind: typeof what === "string" ? "lever" : "undo", phone: DEV, seq: i + 1, says };
  });
  return hide(marks);
}

/** The marks once an answer was written. */
function answeredWith(marks: readonly Mark[], answer: string): Mark[] {
  const [question] = takenBack(marks, DEV);
  if (question === undefined) throw new Error("nothing is asked");
  const made = question.entries(answer, "When?", LATER_MS);
  return hide([...marks, ...made.map((draft, i) => markOf(draft, marks.length + 1 + i))]);
}

function markOf(draft: Draft, seq: number): Mark {
  const { kind, t_ms, clock_ms: _clock, ...says } = draft as Draft & { clock_ms?: number };
  return { t_ms, kind, phone: DEV, seq, says };
}

const taps = (marks: readonly Mark[]): (readonly [number, boolean])[] => tapped(marks, T0_MS).map(({ t_s, down }) => [t_s, down] as const);

describe("a press that Oops took back", () => {
  afterEach(over);

  const late = logged([10, "down"], [100, "up"], [103, 2, 88]);

  it("is asked about once, with the moments that fit between its neighbours", () => {
    const [question, ...others] = takenBack(late, DEV);
    expect(others).toEqual([]);
    expect(question).toMatchObject({ kind: "oops-up", from_ms: T0_MS + 100_000, to_ms: T0_MS + 103_000 });
    expect(Object.keys(question?.answers ?? {})).toEqual(["leave", "oops", "edge", "before"]);
    const soon = logged([95, "down"], [100, "up"], [103, 2, 88]);
    expect(Object.keys(takenBack(soon, DEV)[0]?.answers ?? {})).toEqual(["leave", "oops"]);
  });

  it.each([
    ["oops", 103],
    ["edge", 88],
    ["before", 90],
  ])("counts as made at the moment that was answered: %s", (answer, s) => {
    const after = answeredWith(late, answer);
    expect(taps(after)).toEqual([[10, true], [s, false]]);
    expect(takenBack(after, DEV)).toEqual([]);
  });

  it("stays away where that was the answer", () => {
    const after = answeredWith(late, "leave");
    expect(taps(after)).toEqual([[10, true]]);
    expect(takenBack(after, DEV)).toEqual([]);
  });

  it("gives way to an answer where it was pressed again meanwhile, and stands where that was right", () => {
    const pressed = logged([10, "down"], [100, "up"], [103, 2, 88], [105, "up"], [150, "down"]);
    expect(Object.keys(takenBack(pressed, DEV)[0]?.answers ?? {})).toEqual(["again", "edge", "before"]);
    expect(taps(answeredWith(pressed, "again"))).toEqual([[10, true], [105, false], [150, true]]);
    expect(taps(answeredWith(pressed, "edge"))).toEqual([[10, true], [88, false], [150, true]]);
  });

  it("is asked again when the answer is taken back, and not for what another phone took back", () => {
    const after = answeredWith(late, "edge");
    const back = [4, 5].map((of, i): Mark => ({ t_ms: LATER_MS, kind: "undo", phone: DEV, seq: 6 + i, says: { of } }));
    expect(takenBack(hide([...after, ...back]), DEV)).toHaveLength(1);
    expect(takenBack(late, "another")).toEqual([]);
  });

  it("is not asked for any more once the lever has moved on the next day", () => {
    const day = 24 * 3600;
    expect(takenBack(logged([10, "down"], [100, "up"], [103, 2], [day + 200, "up"]), DEV)).toEqual([]);
  });

  it("knows when the lever would have been moved for the edge it came to", async () => {
    const made = rigged();
    const quarter = (Math.PI / 2) / 20;
    const way = new Driver().go(120, 2).go(20, 2, quarter).go(30, 2).go(20, 2, quarter).go(45, 2).go(20, 2, quarter);
    const first = way.t_s;
    const south = way.y;
    way.go(60, 2);
    await drove(made, way.fixes, [10, 115, first + 15, first + Math.round(south / 2) + 4]);
    made.at.ms += 1000;
    made.drive.oops();
    await settle();
    const undo = made.log.rows.find((row) => row.kind === "undo");
    // the rear rank comes to the strip's near side, half a width off the first way, and seed has stopped then
    const { rear_m } = ranksBehind(RIG);
    const gone_m = south - RIG.tool.width_m / 2 + rear_m - 2 * stopDelay(RIG.times);
    const off_s = ((undo?.kind === "undo" ? (undo.edge_ms ?? Number.NaN) : Number.NaN) - T0_MS) / 1000 - (first + gone_m / 2);
    expect(Math.abs(off_s)).toBeLessThan(0.75);
    made.drive.end();
  });

  it("moves the pad and the ground with the answer", async () => {
    const made = rigged();
    await drove(made, new Driver().go(120, 2).fixes, [20, 80]);
    const sown = driving.get().now?.sown_ha ?? 0;
    made.at.ms += 1000;
    expect(made.drive.oops()).toBe(true);
    await settle();
    expect(made.told.lever).toBe("down");
    const { marks } = await made.log.log();
    const [question] = takenBack(marks, DEV);
    if (question === undefined) throw new Error("nothing is asked");
    for (const draft of question.entries("before", "When?", LATER_MS)) await made.log.append(draft);
    await made.drive.retake();
    expect(made.told.lever).toBe("up");
    // ten seconds at 2 m/s less, 8.4 m wide
    expect(((sown - (driving.get().now?.sown_ha ?? 0)) * 1e4) / 168).toBeCloseTo(1, 1);
    made.drive.end();
  });
});
