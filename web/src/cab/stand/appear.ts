// The standing page comes by itself once it stands (`standing` tells that after six seconds), and goes
// when the wheels turn. Whoever goes back to the pad while standing is left there.
import { go, has } from "../route";
import { cab } from "../state";

/** Pages that give way to the pad when the tractor moves: nothing is read or answered then. */
const GIVES_WAY = ["standing", "fill", "stop", "peg", "over", "outs", "lap", "gate"];
/** Pages that the standing page may take the place of. */
const WORKS = ["work", "dim"];

/** Follows whether it stands until it is ended. */
export function followStanding(): () => void {
  let stood = cab.get().standing;
  return cab.watch(["standing"], ({ standing, page }) => {
    const turned = standing !== stood;
    stood = standing;
    if (!turned) return;
    const [from, to] = standing ? [WORKS, "standing"] : [GIVES_WAY, "work"];
    if (from.indexOf(page) < 0 || !has(to)) return;
    // after every page that is shown has heard of it
    setTimeout(() => {
      if (cab.get().standing === standing && from.indexOf(cab.get().page) >= 0) go(to);
    }, 0);
  });
}
