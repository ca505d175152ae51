// This page's offline copy, as the store shows it.
import { Offline } from "./ready";
import { cab } from "./state";

export const offline = new Offline({
  ready: (ready) => cab.set({ ready }),
  newer: (newer) => cab.set({ newer }),
});
