// What one driver hands to the next, asked by the vectors: steps, lines, script, spoken words.
import { eight } from "../../../web/src/cab/english/eight";
import { MOST, script, spoken } from "../../../web/src/cab/english/script";
import { steps } from "../../../web/src/core/handover";

// oxlint-disable-next-line typescript/no-explicit-any
type Json = any;

const clock = (t_ms: number): string => new Date(t_ms).toISOString().slice(11, 16);

export function handing({ handover, acres }: Json, want: Json): void {
  const unit = acres === true ? "ac" : "ha";
  expect(eight(handover, unit, clock)).toEqual(want.lines);
  const said = script(handover, unit);
  expect(said).toBe(want.script);
  expect(spoken(said)).toBe(want.spoken);
  expect(want.spoken).toBeLessThanOrEqual(MOST);
}

export function stepping(given: Json, want: Json, tolerance: Json): void {
  const labels = given.labels === null ? null : new Map(Object.keys(given.labels).map((key) => [Number(key), given.labels[key] as string] as const));
  const found = steps(given.rest, given.loose, given.look, { aboard: given.aboard, labels, minutes: given.minutes }, given.questions, given.doubt_ha, given.seams);
  expect(found.map((step) => ({ ...step, area_m2: 0 }))).toEqual(want.steps.map((step: Json) => ({ ...step, area_m2: 0 })));
  found.forEach((step, i) => expect(Math.abs(step.area_m2 - want.steps[i].area_m2)).toBeLessThanOrEqual(tolerance.square_metres));
}

export function speaking({ text }: Json, want: Json): void {
  expect(spoken(text)).toBe(want.words);
}
