// Takes out of a script the methods that nobody calls, which no minifier dares: a library's class brings
// all of its methods along. Here the script is the whole program, and a method whose name stands nowhere but
// in methods that cannot be called either is called by nobody, except by the language itself.
import { parse, type MethodDefinition, type Node } from "acorn";

/** Names that the language or the browser calls without their standing anywhere. */
export const CALLED: ReadonlySet<string> = new Set(["constructor", "toString", "valueOf", "toJSON", "then", "next", "return", "throw"]);

/** The script, which runs as it did, without the methods, getters and setters that nothing reached names. */
export function withoutUnused(code: string): string {
  const methods = methodsIn(parse(code, { ecmaVersion: "latest", sourceType: "script" })).flatMap(({ computed, key, start, end }) =>
    computed || key.type !== "Identifier" || CALLED.has(key.name) ? [] : [{ name: key.name, start, end }],
  );
  // of two, one of which lies within the other, the inner one goes with the outer
  const outer = methods.filter((one) => !methods.some((other) => other.start < one.start && one.end <= other.end));
  let rest = code;
  for (const { start, end } of outer.toReversed()) rest = rest.slice(0, start) + rest.slice(end);
  const named = wordsOf(rest);
  let waiting = outer;
  for (let found = true; found; ) {
    const reached = waiting.filter(({ name }) => named.has(name));
    waiting = waiting.filter(({ name }) => !named.has(name));
    for (const { name, start, end } of reached) for (const word of wordsOf(code.slice(start + name.length, end))) named.add(word);
    found = reached.length > 0;
  }
  let out = code;
  for (const { start, end } of waiting.toReversed()) out = out.slice(0, start) + out.slice(end);
  return out;
}

function wordsOf(code: string): Set<string> {
  return new Set(Array.from(code.matchAll(/[\w$]+/g), ([word]) => word));
}

function methodsIn(node: Node): MethodDefinition[] {
  const found = node.type === "MethodDefinition" ? [node as MethodDefinition] : [];
  for (const part of Object.values(node)) {
    for (const one of Array.isArray(part) ? part : [part]) {
      if (one !== null && typeof one === "object" && typeof (one as Node).type === "string") found.push(...methodsIn(one as Node));
    }
  }
  return found;
}
