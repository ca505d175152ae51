// Turns from one run to another: how long, and how deep into the headland. Closed forms of D. D. Bochtis and S. G.
// Vougioukas, Biosystems Engineering 101 (2008), and of J. Jin and L. Tang, Transactions of the ASABE 53 (2010), from
// memory. They are the tractor's path: the tool needs half its width more, and room to straighten.

/** A turn with its length and its depth beyond the end of the rows, m. */
export interface Turn {
  readonly kind: "half circle" | "loop" | "fishtail";
  readonly length_m: number;
  readonly depth_m: number;
}

/** The shortest turn forward to a parallel run: two quarter circles and a straight from two radii on, else a loop. */
export function turn(radius_m: number, spacing_m: number): Turn {
  const [r, w] = [radius_m, spacing_m];
  if (w >= 2 * r) return { kind: "half circle", length_m: Math.PI * r + w - 2 * r, depth_m: r };
  const part = (2 * r + w) / (4 * r);
  return { kind: "loop", length_m: r * (3 * Math.PI - 4 * Math.asin(part)), depth_m: r + 2 * r * Math.sin(Math.acos(part)) };
}

/** A quarter turn, back, and a quarter turn again. Not for a towed tool with a cart behind it. */
export function fishtail(radius_m: number, spacing_m: number): Turn {
  return { kind: "fishtail", length_m: radius_m * (Math.PI + 2) - spacing_m, depth_m: radius_m };
}
