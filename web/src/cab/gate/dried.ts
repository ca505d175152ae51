// Keep-outs whose date has passed: their ground is counted again, and the driver is told since when.
import type { KeepOut } from "../../core/words";
import type { PackPaddock } from "../../carry/pack";

/** Those of a paddock and those marked here that held once, and no more at the count's moment; newest first. */
export function dried(paddocks: readonly Pick<PackPaddock, "id" | "land">[], id: string | null, marked: readonly KeepOut[], now_ms: number): KeepOut[] {
  const land = paddocks.find((paddock) => paddock.id === id)?.land;
  const all = [...(land?.keep_outs ?? []), ...marked].filter(({ until_ms }) => until_ms !== null && until_ms < now_ms);
  return all.sort((a, b) => (b.until_ms ?? 0) - (a.until_ms ?? 0));
}
