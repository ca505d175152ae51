// The standing page comes by itself after some seconds of standing, and goes when the wheels turn.
import { go, has } from "../route";
import { cab } from "../state";

const AFTER_MS = 6_000;
/** Pages that give way to the pad when the tractor moves: nothing is read or answered then. */
const GIVES_WAY = ["standing", "fill", "stop", "peg", "over", "outs", "lap", "gate"];
/** Pages that the standing page may take the place of. */
const WORKS = ["work", "dim"];

/** Follows whether it stands until it is ended. */
export function followStanding(after_ms = AFTER_MS): () => void {
  let timer: ReturnType<typeof setTimeout> | null = null;
  const calm = (): void => {
    if (timer !== null) clearTimeout(timer);
    timer = null;
  };
  const end = cab.watch(["standing", "lever", "page"], ({ standing, page }) => {
    calm();
    if (!standing) {
      if (GIVES_WAY.indexOf(page) >= 0 && has("work")) setTimeout(() => go("work"), 0);
      return;
    }
    if (WORKS.indexOf(page) < 0) return;
    timer = setTimeout(() => {
      if (cab.get().standing && WORKS.indexOf(cab.get().page) >= 0) go("standing");
    }, after_ms);
  });
  return () => {
    calm();
    end();
  };
}
