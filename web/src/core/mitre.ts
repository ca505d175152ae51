// Ground pushed out with mitred corners. The clipping module squares a corner off at one distance where its
// mitre would reach too far; here it reaches as far as it may, as in the engine at home.
import type { Clip } from "./clip";
import type { Ring } from "./words";

/** A mitred corner reaches out so many distances at most. */
const MITRE = 2;

/**
 * The ground of some rings pushed out by a distance, corners mitred. A corner that would reach further
 * than MITRE distances is cut off square there.
 */
export function pushedOut(clip: Clip, rings: readonly Ring[], by_m: number): Ring[] {
  const sharp: Ring[] = [];
  for (const ring of rings) {
    const n = ring.length;
    for (let i = 0; i < n; i += 2) {
      const [before, after] = [(i + n - 2) % n, (i + 2) % n];
      const here = [ring[i], ring[i + 1]] as const;
      const [ax, ay] = [here[0] - ring[before], here[1] - ring[before + 1]];
      const [bx, by] = [ring[after] - here[0], ring[after + 1] - here[1]];
      const bend = Math.atan2(ax * by - ay * bx, ax * bx + ay * by);
      if (Math.cos(bend / 2) * MITRE >= 1 || bend < 0) continue;
      // out along the bisector, and to where the cut meets the two sides pushed out
      const out = Math.atan2(ay, ax) + bend / 2 - Math.PI / 2;
      const half = ((1 - MITRE * Math.cos(bend / 2)) / Math.sin(bend / 2)) * by_m;
      const place = (ahead: number, aside: number): [number, number] => [
        here[0] + ahead * Math.cos(out) - aside * Math.sin(out),
        here[1] + ahead * Math.sin(out) + aside * Math.cos(out),
      ];
      const [c, s] = [Math.cos(bend / 2) * by_m, Math.sin(bend / 2) * by_m];
      sharp.push(
        Float64Array.of(
          ...here,
          ...place(c, -s),
          ...place(MITRE * by_m, -half),
          ...place(MITRE * by_m, half),
          ...place(c, s),
        ),
      );
    }
  }
  return clip.union([...clip.grown(rings, by_m, "mitred"), ...sharp]);
}
