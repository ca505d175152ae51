// A bin that ran dry behind the driver: since when, by the balance, as an entry that the engine takes as doubt
// within its band and as bare ground after it.
import type { DraftOf } from "../../keep/entry";
import type { Bin } from "../sums";

/** Where the balance knows no end of the band yet, it may have run out just now. */
export function ranOutEntry(bin: Bin | undefined, now_ms: number): DraftOf<"flow"> {
  const out = bin?.rows[bin.rows.length - 1]?.out ?? null;
  const off: DraftOf<"flow"> = { kind: "flow", t_ms: now_ms, flow: "off" };
  if (bin === undefined || out === null) return off;
  const { t0_ms } = bin;
  const from_ms = t0_ms + out.from_s * 1000;
  const to_ms = Math.max(out.to_s === null ? now_ms : t0_ms + out.to_s * 1000, from_ms);
  return { ...off, since_ms: Math.round((from_ms + to_ms) / 2), since_spread_ms: Math.round((to_ms - from_ms) / 2) };
}
