// Which ground the gate check counts: null where one stands, an empty id for none of the pack's.
import { createStore } from "../store";

export const wanted = createStore<{ readonly paddock: string | null; readonly lap: boolean }>({ paddock: null, lap: false });
