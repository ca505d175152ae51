// Names that only an object itself asks for: a class's own fields and methods, which are reached as `this.name` and
// no other way. Whatever they are called, nobody else can tell: not a file, not the store, not another worker.
import { parse, type MemberExpression, type MethodDefinition, type Node, type Property, type VariableDeclarator } from "acorn";
import { CALLED } from "./unused.ts";

/** Those of a script that is the whole program. A name that stands in it as a text too, or as a key, is none; nor is one that the language calls. */
export function ownNames(code: string): Set<string> {
  const [own, others] = [new Set<string>(), new Set<string>()];
  const look = (node: Node, ofThis: boolean): void => {
    const found = nameIn(node);
    if (found !== null) (found.ofThis || ofThis ? own : others).add(found.name);
    const takesApart = node.type === "VariableDeclarator" && (node as VariableDeclarator).init?.type === "ThisExpression";
    for (const part of Object.values(node).flat()) {
      if (isNode(part)) look(part, takesApart || (ofThis && node.type === "ObjectPattern"));
    }
  };
  look(parse(code, { ecmaVersion: "latest", sourceType: "script" }), false);
  for (const names of [others, CALLED]) names.forEach((name) => own.delete(name));
  return own;
}

/** The name that a node asks for or gives, and whether it is asked of `this` or given to a class. */
function nameIn(node: Node): { readonly name: string; readonly ofThis: boolean } | null {
  if (node.type === "Literal") return { name: String((node as Node & { value: unknown }).value), ofThis: false };
  if (node.type === "TemplateElement") return { name: (node as Node & { value: { raw: string } }).value.raw, ofThis: false };
  if (node.type === "MemberExpression") {
    const { computed, object, property } = node as MemberExpression;
    return computed || property.type !== "Identifier" ? null : { name: property.name, ofThis: object.type === "ThisExpression" };
  }
  if (node.type !== "Property" && node.type !== "MethodDefinition") return null;
  const { computed, key } = node as Property | MethodDefinition;
  return computed || key.type !== "Identifier" ? null : { name: key.name, ofThis: node.type === "MethodDefinition" };
}

const isNode = (part: unknown): part is Node => typeof (part as Partial<Node> | null)?.type === "string";
