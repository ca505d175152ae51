// What is handed over, in words: the eight lines and the radio script, of the last count.
import type { Handover } from "../../core/handover";
import { eight } from "../english/eight";
import { script } from "../english/script";
import { dated, unit } from "../say";
import type { Sums } from "../sums";
import { t } from "../words";

/** The handover with what was marked called by its name. */
export function told({ handed }: Pick<Sums, "handed">): Handover {
  const kinds: Readonly<Record<string, string>> = t.stand.outs.kinds;
  const named = (names: readonly string[]): string[] => names.map((name) => (kinds[name] ?? name).toLowerCase());
  const strains = handed.machine.filter((part) => part === "strain").length;
  const machine = [...handed.machine.filter((part) => part !== "strain"), ...(strains === 0 ? [] : [t.over.strain(strains)])];
  return { ...handed, paddock: handed.paddock === "" ? t.stand.lap.title : handed.paddock, hazards: named(handed.hazards), outs: named(handed.outs), machine };
}

export const spokenOf = (sums: Pick<Sums, "handed">): string => script(told(sums), unit());

/** The lines as a screen shows them: where paper leaves room for a pen, that it is not known. */
export function linesOf(sums: Pick<Sums, "handed">): (readonly [string, string])[] {
  return eight(told(sums), unit(), dated).map(([name, text]) => [name, text.replace(/____ to ____; /, "").replace(/ to ____; /, "; ").replace(/____( kg| L)?/g, t.over.unknown)] as const);
}
