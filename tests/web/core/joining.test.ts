// Joining is the same either way round and any number of times: what the shelf gives, whatever was brought in which
// order, in how many pieces and how often; and what the engine makes of it.
import { takeIn } from "../../../web/src/carry/file";
import { Chance } from "../../../web/src/core/chance";
import { Clip } from "../../../web/src/core/clip";
import { order } from "../../../web/src/core/columns";
import { find } from "../../../web/src/core/day";
import { type Log, type Paddock, type Rig, SETTINGS } from "../../../web/src/core/words";
import { FakeLocks, freshStorage, tab } from "../keep/made";
import { LENGTH_M, log, PLANE, RIG, WIDTH_M } from "./smallday";

/** The second rig works so far north of the first, m. */
const NORTH_M = 2 * WIDTH_M;
const LAND: Paddock = {
  name: "both",
  area: PLANE.areaToDegrees([[Float64Array.of(0, 0, LENGTH_M, 0, LENGTH_M, WIDTH_M + NORTH_M, 0, WIDTH_M + NORTH_M)]]),
  keep_outs: [],
  boundary: "survey",
  notes: [],
};
const cardOf = (phone: string): Rig => ({ ...RIG, name: `rig of ${phone}`, phones: [phone] });
const CARDS = [cardOf("bar"), cardOf("ute")];
/** Clocks that keep the same seconds: entries of both phones at one and the same moment. */
const LINES = { bar: linesOf("bar", 0), ute: linesOf("ute", NORTH_M) };

function linesOf(dev: string, north_m: number): string[] {
  const { fixes, marks } = log();
  const by = PLANE.degrees(0, north_m)[1] - PLANE.lat0_deg;
  const out: { t_ms: number; text: object }[] = [];
  fixes.t_ms.forEach((t_ms, i) => out.push({ t_ms, text: { kind: "fix", lat_deg: (fixes.lat_deg[i] ?? 0) + by, lon_deg: fixes.lon_deg[i] } }));
  for (const { t_ms, kind, says } of marks) out.push({ t_ms, text: { kind, ...says } });
  out.sort((a, b) => a.t_ms - b.t_ms);
  return out.map(({ t_ms, text }, i) => JSON.stringify({ v: 1, dev, seq: i + 1, t_ms, ...text }));
}

/** Each log cut somewhere, the pieces in any order, some of them again. */
function pieces(chance: Chance): string[] {
  const cut: string[][] = [];
  for (const lines of [LINES.bar, LINES.ute]) {
    const at = 1 + Math.floor(chance.uniform() * (lines.length - 1));
    cut.push(lines.slice(0, at), lines.slice(at), lines.slice(Math.floor(at / 2), at));
  }
  return Array.from([...chance.ranks(cut.length), ...chance.ranks(cut.length)], (k) => `${(cut[k] ?? []).join("\n")}\n`);
}

/** A phone that has nothing of its own takes the pieces in as files, one after another. */
async function brought(parts: readonly string[]): Promise<Log> {
  freshStorage();
  const keeper = await tab(new FakeLocks());
  for (const part of parts) await takeIn(new File([part], "part.jsonl"), keeper, 0);
  const found = await keeper.log();
  await keeper.close();
  return found;
}

/** The rows of a log by phone and time: in what order they lie says nothing. */
function rows({ fixes, marks }: Log): unknown {
  const at = order(fixes.t_ms.map((t, i) => t + (fixes.phone[i] ?? 0) * 1e12));
  return { phones: fixes.phones, marks, fixes: Array.from(at, (i) => [fixes.phone[i], fixes.t_ms[i], fixes.lat_deg[i], fixes.lon_deg[i]]) };
}

describe("two rigs' logs joined on a phone", () => {
  const whole = [LINES.bar, LINES.ute].map((lines) => `${lines.join("\n")}\n`);

  it("are one log in any order and number of pieces", async () => {
    const once = rows(await brought(whole));
    expect(rows(await brought(whole.toReversed().concat(whole)))).toEqual(once);
    for (let seed = 1; seed <= 12; seed++) expect(rows(await brought(pieces(new Chance(seed)))), `seed ${seed}`).toEqual(once);
  });

  it("come to the same day either way round, and both count", async () => {
    const clip = new Clip();
    const day = (given: Log, cards: readonly Rig[]) => find(given, LAND, cards, { ...SETTINGS, draws: 12 }, clip).tally;
    const one = day(await brought(whole), CARDS);
    expect(one.rigs.map(({ name, phones }) => [name, ...phones])).toEqual([["rig of bar", "bar"], ["rig of ute", "ute"]]);
    expect(one.sown_ha).toBeCloseTo((2 * (LENGTH_M * WIDTH_M - 8 * 60)) / 1e4, 2);
    expect(one.rigs[0]?.sown_ha).toBeCloseTo(one.rigs[1]?.sown_ha ?? 0, 3);
    const other = day(await brought(pieces(new Chance(5))), CARDS.toReversed());
    // the cards stand in another order, and so do their numbers in the runs
    expect({ ...other, runs: [], rigs: other.rigs }).toEqual({ ...one, runs: [] });
  });

  it("and the same rig logged twice under one label counts once", async () => {
    const [bar = ""] = whole;
    const { tally } = find(await brought([bar, bar, bar]), LAND, [RIG], { ...SETTINGS, settle: false, draws: 0 }, new Clip());
    expect(tally.rigs).toEqual([]);
    expect(tally.swept_ha).toBeCloseTo((LENGTH_M * WIDTH_M - 8 * 60) / 1e4, 2);
  });
});
