// Takes out of a script the methods that nobody calls, which no minifier dares: a library's class brings
// all of its methods along. Here the script is the whole program, and a method whose name stands nowhere
// but where it is defined cannot be called, except by the language itself.
import { parse, type MethodDefinition, type Node } from "acorn";

/** Names that the language or the browser calls without their standing anywhere. */
const CALLED: ReadonlySet<string> = new Set(["constructor", "toString", "valueOf", "toJSON", "then", "next", "return", "throw"]);

/** The script, which runs as it did, without methods, getters and setters that nobody names. */
export function withoutUnused(code: string): string {
  for (let before = code; ; before = code) {
    const uses = new Map<string, number>();
    for (const [word] of code.matchAll(/[\w$]+/g)) uses.set(word, (uses.get(word) ?? 0) + 1);
    const defined = new Map<string, MethodDefinition[]>();
    for (const method of methodsIn(parse(code, { ecmaVersion: "latest", sourceType: "script" }))) {
      if (method.computed || method.key.type !== "Identifier" || CALLED.has(method.key.name)) continue;
      const { name } = method.key;
      defined.set(name, [...(defined.get(name) ?? []), method]);
    }
    const unused = Array.from(defined).filter(([name, all]) => uses.get(name) === all.length);
    // from the end on, so that places before it stay; what stands within another goes with it
    const spans = unused.flatMap(([, all]) => all).toSorted((a, b) => b.start - a.start);
    const outer = spans.filter((one) => !spans.some((other) => other.start < one.start && one.end <= other.end));
    for (const { start, end } of outer) code = code.slice(0, start) + code.slice(end);
    if (code === before) return code;
  }
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
