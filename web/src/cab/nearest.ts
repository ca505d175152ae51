// Patches in an order to drive to them: always the nearest one next. It knows no roads and no worth.

/** A place on the plane: any point of an outline stands for it. */
interface Outlined {
  readonly outline: readonly Float64Array[];
}

/** The same things, each the nearest to the one before; the first the nearest to `from`, m. */
export function inOrder<T extends Outlined>(things: readonly T[], from: readonly [number, number]): T[] {
  const left = things.slice();
  const out: T[] = [];
  let [x, y] = from;
  while (left.length > 0) {
    let [best, at, where] = [Infinity, 0, [x, y] as [number, number]];
    left.forEach(({ outline }, i) => {
      const ring = outline[0] ?? new Float64Array(0);
      for (let k = 0; k + 1 < ring.length; k += 2) {
        const corner: [number, number] = [ring[k] ?? 0, ring[k + 1] ?? 0];
        const off = Math.hypot(corner[0] - x, corner[1] - y);
        if (off < best) [best, at, where] = [off, i, corner];
      }
    });
    out.push(...left.splice(at, 1));
    [x, y] = where;
  }
  return out;
}
