// What does not fit together: the card's width with the runs, the runs with the paddock.
import { median } from "./columns";
import { Near } from "./near";
import { AGO_S, SAMPLE_M, type Sampled, samples } from "./samples";
import type { Misfit, Tally } from "./words";

/** Neighbours are looked for this far to the side, in widths of the card; nearer is the same run. */
const [REACH, SAME] = [2.5, 0.3];
/** Runs side by side differ in heading by less than this, rad. */
const SIDE = Math.sin(0.17);
/** So much of all neighbours must lie within this part of the middle distance, and be so many. */
const [MOST, WITHIN, FEWEST] = [0.5, 0.1, 60];
/** Distances in widths that no driving by eye explains. From the upper end on every second run may still be to come. */
const [CLOSE, WIDE, SKIPPED] = [0.72, 1.2, 1.8];
/** With less of what was swept inside, the boundary is of somewhere else. */
const INSIDE = 0.05;

/** Where most neighbouring runs lie apart by another width than the card's; null: they fit, or nothing tells. */
export function spacing(stretches: readonly Sampled[]): Misfit | null {
  const [{ width_m } = { width_m: 0 }] = stretches;
  const { x_m, y_m, heading_rad, t_s } = samples(stretches);
  const reach_m = REACH * width_m;
  const near = new Near(x_m, y_m, reach_m);
  const [cos, sin] = [heading_rad.map(Math.cos), heading_rad.map(Math.sin)];
  const apart: number[] = [];
  for (let i = 0; i < x_m.length; i++) {
    const [c, n] = [cos[i], sin[i]];
    const hits = near.within(x_m[i], y_m[i], reach_m);
    let [left, right] = [Infinity, Infinity];
    for (let k = 0; k < hits.length; k++) {
      const j = hits[k];
      const dx = x_m[j] - x_m[i];
      const dy = y_m[j] - y_m[i];
      if (Math.abs(c * dx + n * dy) > SAMPLE_M || Math.abs(t_s[j] - t_s[i]) <= AGO_S) continue;
      const side = c * dy - n * dx;
      if (Math.abs(side) <= SAME * width_m || Math.abs(c * sin[j] - n * cos[j]) >= SIDE) continue;
      if (side > 0) left = Math.min(left, side);
      else right = Math.min(right, -side);
    }
    if (right < Infinity) apart.push(right);
    if (left < Infinity) apart.push(left);
  }
  const apart_m = median(apart);
  const ratio = apart_m / width_m;
  const alike = apart.filter((m) => Math.abs(m / apart_m - 1) < WITHIN).length;
  const fits = apart.length < FEWEST || alike < MOST * apart.length || (ratio > CLOSE && ratio < WIDE) || ratio > SKIPPED;
  return fits || stretches.some((stretch) => stretch.width_m !== width_m) ? null : { apart_m, width_m };
}

/** Whether next to nothing of what was sown lies in the paddock. */
export const elsewhere = ({ swept_ha, outside_ha }: Pick<Tally, "swept_ha" | "outside_ha">): boolean => outside_ha > 0 && swept_ha - outside_ha <= INSIDE * swept_ha;
