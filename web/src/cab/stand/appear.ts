// The standing page comes by itself once it stands (`standing` tells that after six seconds), and goes
// when the wheels turn. Whoever goes back to the pad while standing is left there.
import { go, has } from "../route";
import { cab } from "../state";

/**
 * Pages that do not give way to the pad when the tractor moves: nothing is read or answered then, but a
 * timing trial may be driven.
 */
const STAYS = ["work", "first", "trial", "rider"];
/** Pages that the standing page may take the place of. */
const WORKS = ["work", "dim"];

/** Follows whether it stands until it is ended. */
export function followStanding(): () => void {
  let stood = cab.get().standing;
  return cab.watch(["standing"], ({ standing, page }) => {
    const turned = standing !== stood;
    stood = standing;
    if (!turned) return;
    const to = standing ? "standing" : "work";
    const leaves = (from: string): boolean => (standing ? WORKS.indexOf(from) >= 0 : STAYS.indexOf(from) < 0);
    if (!leaves(page) || !has(to)) return;
    // after every page that is shown has heard of it
    setTimeout(() => {
      if (cab.get().standing === standing && leaves(cab.get().page)) go(to);
    }, 0);
  });
}
