// What a script asks of the language over and over, under a short name of its own: `e$(a,b)` for `Math.max(a,b)`. It is
// the same function, looked up once when the script begins, and takes no longer to call.
import { parse, type MemberExpression, type Node } from "acorn";
import { isKey, nameOf, partsIn } from "./nodes.ts";

/** Whose functions and numbers do not ask whose they are, and what objects are made with. */
const HOLDERS = ["Math", "Number", "Array", "Object", "JSON"] as const;
const MAKERS = ["Float64Array", "Int32Array", "Uint8Array", "Map", "Set"] as const;
/** What stands this often is worth a name. */
const OFTEN = 10;
/** Letters in the order in which scripts have them: what is frequent anyhow packs best. */
const LETTERS = "etnriaoslcudfpmhgvybxwkjqzETNRIAOSLCUDFPMHGVYBXWKJQZ";

/** One place, and what is asked for there. */
interface Asked {
  readonly what: string;
  readonly start: number;
  readonly end: number;
}

/** The script, minified, `head` and then its statements. Throws where it begins otherwise, or has no names left. */
export function withAliases(code: string, head: string): string {
  if (!code.startsWith(head)) throw new Error(`expected a script that begins with ${head}, got ${code.slice(0, head.length)}`);
  const asked = askedIn(parse(code, { ecmaVersion: 2017, sourceType: "script" }));
  const times = new Map<string, number>();
  for (const { what } of asked) times.set(what, (times.get(what) ?? 0) + 1);
  const often = [...times].filter(([, count]) => count >= OFTEN).toSorted((a, b) => b[1] - a[1]);
  const taken = new Set(code.match(/[\w$]+/g));
  const free = Array.from(LETTERS, (letter) => `${letter}$`).filter((name) => !taken.has(name));
  if (free.length < often.length) throw new Error(`expected ${often.length} short names that the script has not, got ${free.length}`);
  const names = new Map(often.map(([what], i) => [what, free[i] ?? ""]));
  let out = code;
  for (const { what, start, end } of asked.toReversed()) out = out.slice(0, start) + (names.get(what) ?? what) + out.slice(end);
  const said = Array.from(names, ([what, name]) => `${name}=${what}`);
  return said.length === 0 ? code : `${head}var ${said.join(",")};${out.slice(head.length)}`;
}

/** What is asked of the language, in the order in which it stands. */
function askedIn(node: Node): Asked[] {
  const { type, start, end } = node;
  const { object, property, computed, shorthand } = node as MemberExpression & { readonly shorthand?: boolean };
  const isHeld = type === "MemberExpression" && !computed && HOLDERS.some((name) => name === nameOf(object));
  if (isHeld || MAKERS.some((name) => name === nameOf(node))) return [{ what: isHeld ? `${nameOf(object)}.${nameOf(property)}` : nameOf(node), start, end }];
  // of `{ Map }` the name is the key too
  return shorthand === true ? [] : partsIn(node).filter((part) => !isKey(node, part)).flatMap(askedIn);
}
