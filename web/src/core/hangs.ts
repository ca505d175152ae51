// Which bare patches hang on an answer that is still open.
//
// Runs are settled against their neighbours, but not against one that is in doubt: its answer moves them, and may
// close the gap. So what lies beside such ground is asked about before anybody drives to it. A sure patch stays
// whatever the answer is.
import { within } from "./apart";
import type { Strip } from "./cover";
import { ringsOf } from "./rings";
import type { Area, Patch, Question, Ring, Run } from "./words";

/** About a working width, m: a run that is in doubt is neighbour to what lies so near. */
const NEAR_M = 10;
/** A run is asked about where it shares more than this with a question, s: ends are rounded. */
const SHARED_S = 1;

/**
 * The patches, each with the numbers of the questions that it hangs on. `doubt` is all ground in doubt, `strips` what
 * each of the runs put in the ground; the seconds of the runs count from `t0_ms`; `legs` tell which phone rode on which rig.
 */
export function hanging(patches: readonly Patch[], doubt: Area, strips: readonly Pick<Strip, "doubt">[], runs: readonly Run[], questions: readonly Question[], t0_ms: number, legs: readonly { readonly phone: string; readonly outfit: number }[]): Patch[] {
  const about = ({ from_ms, to_ms, phones }: Question, { on_s, off_s, outfit }: Run): boolean =>
    Math.min(off_s, (to_ms - t0_ms) / 1000) - Math.max(on_s, (from_ms - t0_ms) / 1000) > SHARED_S &&
    (phones === undefined || legs.some((leg) => leg.outfit === outfit && phones.indexOf(leg.phone) >= 0));
  const whole = ringsOf(doubt);
  return patches.map((patch) => {
    const beside = (rings: readonly Ring[]): boolean => within(patch.outline, rings, NEAR_M);
    const open = patch.call !== "sure" && beside(whole) ? questions : [];
    const asks = open.filter((question) => strips.some((strip, i) => about(question, runs[i]) && beside(strip.doubt)));
    return Object.assign(patch, { asks: asks.map(({ number }) => number) });
  });
}

/** The part of what patches hold, by area and chance, that hangs on an answer: 0 to 1. */
export function mayClose(patches: readonly Pick<Patch, "asks" | "area_m2" | "chance">[]): number {
  let [all, closes] = [0, 0];
  for (const { asks, area_m2, chance } of patches) {
    all += area_m2 * chance;
    if (asks?.length) closes += area_m2 * chance;
  }
  return closes / Math.max(all, 1e-9);
}
