// Stretches of time as sorted lists of [from, to], seconds.
export type Span = readonly [number, number];

/** The union, sorted; touching stretches become one. */
export function joined(spans: readonly Span[]): Span[] {
  const out: [number, number][] = [];
  const real = spans.filter(([a, b]) => b > a).sort((s, o) => s[0] - o[0] || s[1] - o[1]);
  for (const [a, b] of real) {
    const last = out[out.length - 1];
    if (last !== undefined && a <= last[1]) last[1] = Math.max(last[1], b);
    else out.push([a, b]);
  }
  return out;
}

/** What is left of each stretch; stretches that touch are not joined. */
export function without(spans: readonly Span[], taken: readonly Span[]): Span[] {
  const cuts = joined(taken);
  const out: Span[] = [];
  for (const [a, b] of spans) {
    let here = a;
    for (const [c, d] of cuts) {
      if (d <= here || c >= b) continue;
      if (c > here) out.push([here, c]);
      here = Math.max(here, d);
    }
    if (here < b) out.push([here, b]);
  }
  return out;
}

/** First and one-past-last index of every unbroken stretch of one number. */
export function unbroken(a: ArrayLike<number>): Span[] {
  const out: Span[] = [];
  for (let first = 0, i = 1; i <= a.length; i++) {
    if (a[i] === a[first]) continue;
    out.push([first, i]);
    first = i;
  }
  return out;
}

/** The same of flags, where they are set. */
export function marked(flags: ArrayLike<number>): Span[] {
  return unbroken(flags).filter(([first]) => flags[first] !== 0);
}
