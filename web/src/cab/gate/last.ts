// The last count, so that the standing page can ask what it left open without counting again.
import { createStore } from "../store";
import type { Sums } from "../sums";

export const kept = createStore<{ readonly sums: Sums | null }>({ sums: null });
