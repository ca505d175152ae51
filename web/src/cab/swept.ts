// What a rank sweeps between two places of its tool.

/** A step of the tool: from one place with a heading to the next. Metres on the plane, radians. */
export interface Step {
  ax_m: number;
  ay_m: number;
  a_rad: number;
  bx_m: number;
  by_m: number;
  b_rad: number;
}

/** Puts the corners of the piece from part `first` to part `last` of a step into `quad`, as the grid wants them. */
export function swept(step: Step, first: number, last: number, ahead_m: number, width_m: number, quad: Float64Array): void {
  const by = turn(step.a_rad, step.b_rad);
  // written out: a day is painted anew, step by step, while the driver waits for it
  for (let end = 0; end < 2; end++) {
    const part = end === 0 ? first : last;
    const heading = step.a_rad + part * by;
    const c = Math.cos(heading);
    const s = Math.sin(heading);
    const x = step.ax_m + part * (step.bx_m - step.ax_m) + ahead_m * c;
    const y = step.ay_m + part * (step.by_m - step.ay_m) + ahead_m * s;
    const side = end === 0 ? width_m / 2 : -width_m / 2;
    quad[4 * end] = x - side * s;
    quad[4 * end + 1] = y + side * c;
    quad[4 * end + 2] = x + side * s;
    quad[4 * end + 3] = y - side * c;
  }
}

/** From one heading to the next, the shorter way round. */
export function turn(from_rad: number, to_rad: number): number {
  const off = to_rad - from_rad;
  return Math.abs(off) < Math.PI ? off : Math.atan2(Math.sin(off), Math.cos(off));
}
