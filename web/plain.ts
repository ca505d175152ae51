// The libraries as a phone carries them.
//
// clipper2-ts turns to whole numbers of any size (BigInt), which old phones lack, for edges longer than 9 km
// of ours (corners lie on a grid of 0.1 mm). There its products are rounded to 53 bits now; a paddock has no
// such edge. And left out is what we never ask of it: lines that do not close, trees of polygons, heights,
// two of the four fill rules. idb goes without what we never ask of it either, and the compiler's own helpers
// are as short as our objects allow.
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

/** What stands in its engine for a thing we never ask for: said to be so, or left out. */
const NEVER: readonly (readonly [from: RegExp, to: string, times: number])[] = [
  [/this\.(?:hasOpenPaths|usingPolytree) = \w+;/g, ";", 5],
  [/ClipperBase\.isOpen(?:End)?\(\w+\)|this\.hasOpenPaths|this\.usingPolytree|this\.reverseSolution/g, "false", 42],
  [/if \((?:\w+\.)*isOpen\)/g, "if (false)", 9],
  [/!isOpen\b/g, "true", 3],
  [/\|\| (?:outrec\.)?isOpen\b/g, "", 2],
  [/this\.preserveCollinear/g, "true", 2],
  [/this\.fillrule === FillRule\.(?:EvenOdd|Negative)/g, "false", 7],
  [/this\.fillrule !== FillRule\.EvenOdd/g, "true", 2],
  [/this\.setZ\(.+\);/g, ";", 11],
  [/Array\.isArray\(solutionOrTree\)/g, "true", 2],
];

/** The library's engine without those. Throws where it is not the version that these changes were made for. */
export function plainEngine(code: string): string {
  let out = code;
  for (const [from, to, times] of NEVER) {
    const found = Array.from(out.matchAll(from)).length;
    if (found !== times) throw new Error(`clipper2-ts has changed: expected ${from.source} ${times} times, found ${found}`);
    out = out.replace(from, to);
  }
  return out;
}

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

/** idb without its short cuts past the transaction and its going through a store by `for await`: we ask for neither. */
export function plainStore(code: string): string {
  const [from, to] = [code.indexOf("const readMethods"), code.indexOf("export {")];
  if (from < 0 || to < from || !code.slice(from, to).includes("async function* iterate")) throw new Error("idb has changed: expected its short cuts and iterators before its exports");
  return code.slice(0, from) + code.slice(to);
}

/** `{...a}` and `{a, ...rest}` for objects that hold neither accessors nor symbols, as all of ours. */
const SPREAD = "Object.assign";
const REST = "(from, without) => { const rest = Object.assign({}, from); without.forEach((name) => delete rest[name]); return rest; }";

/** The files that are changed, and how. */
const PLAIN: Readonly<Record<string, (code: string) => string>> = {
  "clipper2-ts/dist/Core.js": plainArithmetic,
  "clipper2-ts/dist/Engine.js": plainEngine,
  "idb/build/index.js": plainStore,
  "helpers/esm/objectSpread2.js": () => `export default ${SPREAD}`,
  "helpers/esm/objectWithoutProperties.js": () => `export default ${REST}`,
};
const FILES = new RegExp(`(?:${Object.keys(PLAIN).join("|").replaceAll(".", "\\.")})$`);

/** The same as a step of the build. */
export function plain(): Plugin {
  return {
    name: "unsown-plain",
    enforce: "pre",
    transform: {
      filter: { id: FILES },
      handler: (code, id) => ({ code: (Object.entries(PLAIN).find(([file]) => id.endsWith(file))?.[1] ?? ((same: string) => same))(code), map: null }),
    },
  };
}

/** A choice of the library's, by name and by number. */
const CHOICE = / +(\w+)\[\1\["(\w+)"\] = (\d+)\] = "\2";\n/g;
const CHOICES = new RegExp(`\\(function \\((\\w+)\\) \\{\\n(?:${CHOICE.source.replaceAll("\\1", "\\w+").replaceAll("\\2", "\\w+")})+\\}\\)\\(\\w+ \\|\\| \\(\\w+ = \\{\\}\\)\\);`, "g");

/** The numbers of the library's choices in place of their names, as `what` defines them, and no definitions. */
export function numbered(code: string, what: string): string {
  let out = code.replace(CHOICES, "");
  for (const [, kind, name, value] of what.matchAll(CHOICE)) out = out.replace(new RegExp(`\\b${kind}\\.${name}\\b`, "g"), value ?? "");
  return out;
}

/** Core.js of the clipping library with only those of its tools that it names itself, or its engine does. */
export function leanCore(core: string, engine: string): string {
  return core.replace(/^ +(\w+)\.(\w+) = \2;$/gm, (line: string, space: string, name: string) => {
    const named = new RegExp(`\\b${space}\\.${name}\\b`, "g");
    const uses = Array.from(`${core}\n${engine}`.matchAll(named)).length;
    return uses > 1 ? line : "";
  });
}

/** The same as a step of the build, after `plain`. */
export function lean(core: string, engine: string): Plugin {
  return {
    name: "unsown-lean",
    enforce: "pre",
    transform: {
      filter: { id: /clipper2-ts\/dist\/(?:Core|Engine)\.js$|src\/core\/clip\.ts$/ },
      handler: (code, id) => ({ code: numbered(id.endsWith("Core.js") ? leanCore(code, engine) : code, `${core}\n${engine}`), map: null }),
    },
  };
}
