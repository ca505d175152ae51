// The libraries as a phone carries them.
//
// clipper2-ts turns to whole numbers of any size (BigInt), which old phones lack, for edges longer than 9 km
// of ours (corners lie on a grid of 0.1 mm). There its products are rounded to 53 bits now; a paddock has no
// such edge. And left out is what we never ask of it: lines that do not close, trees of polygons, heights,
// two of the four fill rules, a second run of the same clipper. idb goes without what we never ask of it
// either, and the compiler's own helpers are as short as our objects allow.
import type { Plugin } from "vite";

/** What is replaced by what, and how often it stands there. */
type Changes = readonly (readonly [from: RegExp, to: string, times: number])[];

/** In its arithmetic: products as they are, and meetings that are no mere touch. */
const ARITHMETIC: Changes = [
  [/return productsAreEqual\(a, b, c, d\)/g, "return a * b === c * d", 1],
  [/, inclusive = false/g, "", 1],
  [/!inclusive/g, "true", 1],
  [/,\s+z: 0(?=\s+\})/g, "", 20],
];

/** What stands in its engine for a thing we never ask for: said to be so, or left out. */
const NEVER: Changes = [
  // lines that do not close, trees, other fill rules and operations
  [/this\.(?:hasOpenPaths|usingPolytree) = \w+;/g, ";", 4],
  [/ClipperBase\.isOpen(?:End)?\(\w+\)|this\.hasOpenPaths|this\.usingPolytree|this\.reverseSolution/g, "false", 39],
  [/if \((?:(?:\w+\.)*isOpen|reverse)\)/g, "if (false)", 9],
  [/!isOpen\b/g, "true", 3],
  [/\|\| (?:outrec\.)?isOpen\b/g, "", 2],
  [/(?:\w+\.)?isOpen = \w+;/g, "", 5],
  [/, isOpen(?: = false)?(?=[,)])/g, "", 19],
  [/polytype, (?:true|false), /g, "polytype, ", 2],
  [/(\bop|outrec\.pts), (?:reverse|false, (?:true|false)), /g, "$1, ", 5],
  [/\(localMinima\.vertex\.flags & VertexFlags\.Open(?:Start|End)\) !== VertexFlags\.None/g, "false", 2],
  [/if \((?:leftBound !== null && )?rightBound !== null\)/g, "if (true)", 2],
  [/this\.preserveCollinear/g, "true", 2],
  [/this\.fillrule === FillRule\.(?:EvenOdd|Negative)/g, "false", 7],
  [/this\.fillrule !== FillRule\.EvenOdd/g, "true", 2],
  [/case FillRule\.Negative:\n(?:.+\n)+?.+break;/g, "", 5],
  [/case ClipType\.Xor:\n(?:.+return true;|.+\n.+break;)/g, "", 2],
  [/this\.cliptype !== ClipType\.Xor/g, "true", 1],
  [/if \(ct === ClipType\.NoClip\)\s+return;/g, "", 1],
  [/Array\.isArray\(solutionOrTree\)/g, "true", 1],
  [/ {4}(?:path1InsidePath2|getBounds|checkBounds|recursiveCheckOwners)\(.*\) \{\n[^]+?\n {4}\}\n/g, "", 4],
  // a list of corners for bounds nobody asks for, and the owner of a ring: it is asked only for one that was joined to another
  [/vertexList\.push\(.+|(?:this\.)?vertexList = .+|this\.vertexList\.length = 0;|, (?:this\.)?vertexList\b/g, "", 9],
  [/this\.setOwner\(ae2\.outrec, ae1\.outrec\)/g, "ae2.outrec.owner = ae1.outrec", 1],
  [/outrec\.owner = (?:null|prevHotEdge\.outrec);|newOutRec\.owner = outrec\.owner;|or2New\.owner = or1;/g, "", 8],
  [/^ {4}(?:polypath|splits|recursiveSplit|bounds|path) = .+;$/gm, "", 5],
  // a second run: what was filled is not emptied
  [/this\.(?:scanlineHeap|scanlineSet)\.clear\(\);|this\.scanlineArr\.length = 0;|this\.current(?:BotY|LocMin) = 0;|this\.actives = null;\s+this\.sel = null;/g, "", 10],
  [/this\.clearSolutionOnly\(\);|return this\.succeeded;/g, "", 5],
  [/(?:this\.)?isSortedMinimaList = \w+;/g, "", 5],
  [/!this\.isSortedMinimaList/g, "true", 1],
  // a look at the boxes of two edges before their crossing, which alone tells the same
  [/this\.boundingBoxesOverlap\(.+?\) && \/\//g, "//", 2],
  // a list of the heights of edges for few of them, beside a heap for many
  [/if \(this\.useScanlineArray\)/g, "if (false)", 2],
  [/(?:this\.)?useScanlineArray = .+|scanlineArr = \[\];/g, "", 4],
  // a third coordinate, and numbers to find a thing by while looking for faults
  [/this\.setZ\(.+\);/g, ";", 11],
  [/, z: (?:[\w.]+ \|\| )?0(?= \})/g, "", 10],
  [/.*\b_(?:debug|next)Id\b.*/g, "", 6],
];

/** What stands in the store's library for the one store of a transaction, for setting and looking into its things, and for waiting pages. */
const UNASKED: Changes = [
  [/ {12}if \(prop === 'store'\) \{\n[^]+?\n {12}\}\n/g, "", 1],
  [/ {4}(?:set|has)\(target, prop(?:, value)?\) \{\n[^]+?\n {4}\},\n/g, "", 2],
  [/ {4}if \(blocked\) \{\n[^]+?\n {4}\}\n/g, "", 2],
];

/** Throws where it is not the version that these changes were made for. */
function changed(library: string, code: string, changes: Changes): string {
  let out = code;
  for (const [from, to, times] of changes) {
    const found = Array.from(out.matchAll(from)).length;
    if (found !== times) throw new Error(`${library} has changed: expected ${from.source} ${times} times, found ${found}`);
    out = out.replace(from, to);
  }
  return out;
}

/** The library's arithmetic in products of 53 bits. */
export function plainArithmetic(code: string): string {
  return changed("clipper2-ts", code, ARITHMETIC);
}

/** The library's engine for its whole numbers, without all that. */
export function plainEngine(code: string): string {
  return changed("clipper2-ts", code.split("export class ClipperD ")[0] ?? "", NEVER);
}

/** idb without its short cuts past the transaction and its going through a store by `for await`: we ask for neither. */
export function plainStore(code: string): string {
  const [from, to] = [code.indexOf("const readMethods"), code.indexOf("export {")];
  if (from < 0 || to < from || !code.slice(from, to).includes("async function* iterate")) throw new Error("idb has changed: expected its short cuts and iterators before its exports");
  return changed("idb", code.slice(0, from) + code.slice(to), UNASKED);
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

/** Core.js of the clipping library with only those of its tools that its engine names, or those name. */
export function leanCore(core: string, engine: string): string {
  const tools = core.slice(core.indexOf("(function (InternalClipper) {"), core.indexOf("})(InternalClipper "));
  const wanted = new Set(Array.from(engine.matchAll(/\bInternalClipper\.(\w+)/g), ([, name]) => name));
  // names of choices are still imported, though numbers stand in their place
  const kept = Array.from(core.matchAll(/^export var \w+;$/gm), ([line]) => line);
  for (const [text, name] of Array.from(tools.matchAll(/^ {4}function (\w+)\([^]+?^ {4}\}$/gm)).toReversed()) {
    if (!wanted.has(name)) continue;
    for (const [word] of text.matchAll(/\w+/g)) wanted.add(word);
    kept.push(`export ${text.trim()}`);
  }
  const out = kept.join("\n");
  if (/\bBigInt\b|\b\d+n\b/.test(out)) throw new Error("clipper2-ts still needs whole numbers of any size");
  return out;
}

/** The library's engine as a phone has it: it takes those tools one by one, and what needs no object is no method. */
export function leanEngine(engine: string): string {
  const own = new Map<string, string>();
  const rest = engine.replace(/^ {4}(?:static )?(\w+)(\([^]+?^ {4}\}\n)/gm, (whole, name: string, body: string) => {
    if (name === "constructor" || /\b(?:this|super)\b/.test(body)) return whole;
    own.set(name, `function ${name}${body}`);
    return "";
  });
  const called = new RegExp(`\\b(?:ClipperBase|this)\\.(?=(?:${Array.from(own.keys()).join("|")})\\()`, "g");
  const code = [rest, ...own.values()].join("").replace(called, "");
  return changed("clipper2-ts", code, [[/^import \{.+\bInternalClipper\b.+$/gm, 'import * as InternalClipper from "./Core.js";', 1]]);
}

/** The same as a step of the build, after `plain`. */
export function lean(core: string, engine: string): Plugin {
  const what = `${core}\n${engine}`;
  return {
    name: "unsown-lean",
    enforce: "pre",
    transform: {
      filter: { id: /clipper2-ts\/dist\/(?:Core|Engine)\.js$|src\/core\/clip\.ts$/ },
      handler: (code, id) => {
        const less = id.endsWith("Core.js") ? leanCore(code, plainEngine(engine)) : id.endsWith("Engine.js") ? leanEngine(code) : code;
        return { code: numbered(less, what), map: null };
      },
    },
  };
}
