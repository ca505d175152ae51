// Takes out of clipper2-ts what old phones lack: whole numbers of any size (BigInt), which it turns to only
// for edges longer than 9 km of ours (corners lie on a grid of 0.1 mm). There its products are rounded to 53
// bits now; a paddock has no such edge.
import type { Plugin } from "vite";

/** What is replaced by what, and how often it stands there. */
const CHANGES: readonly (readonly [from: string, to: string, times: number])[] = [
  ["9223372036854775807n", "9223372036854775807", 1],
  ["InternalClipper.MaxInt64 / 4n", "InternalClipper.MaxInt64 / 4", 1],
  // nobody calls it
  ["const res = aBig * bBig;", 'throw new Error("expected no product of 128 bits");', 1],
  ["Number(res & 0xffffffffffffffffn)", "0", 1],
  ["Number(res >> 64n)", "0", 1],
  ["BigInt(", "Number(", 10],
];

/** The library's arithmetic as an old phone runs it. Throws where it is not the version that these changes were made for. */
export function plainArithmetic(code: string): string {
  let out = code;
  for (const [from, to, times] of CHANGES) {
    if (out.split(from).length !== times + 1) throw new Error(`clipper2-ts has changed: expected ${JSON.stringify(from)} ${times} times`);
    out = out.split(from).join(to);
  }
  if (/\bBigInt\b|\b\d+n\b/.test(out)) throw new Error("clipper2-ts still needs whole numbers of any size");
  return out;
}

/** The same as a step of the build. */
export function plain(): Plugin {
  return {
    name: "unsown-plain",
    enforce: "pre",
    transform: {
      filter: { id: /clipper2-ts\/dist\/Core\.js$/ },
      handler: (code) => ({ code: plainArithmetic(code), map: null }),
    },
  };
}
