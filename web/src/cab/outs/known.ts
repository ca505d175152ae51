// The keep-outs that were marked on this phone, for whatever draws the ground.
import type { KeepOut } from "../../core/words";
import { keeper } from "../state";
import { createStore } from "../store";
import { outsMarked } from "./marked";

export const known = createStore<{ readonly outs: readonly KeepOut[] }>({ outs: [] });

/** Reads them from the log again. */
export async function lookForOuts(): Promise<void> {
  known.set({ outs: outsMarked(await keeper().marks()) });
}
