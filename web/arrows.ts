// Functions of the script's own top as arrows: `a=(b,c)=>b+c` is told in fewer words than `function a(b,c){return b+c}`,
// and does the same where a function asks for neither `this` nor `arguments` and is no constructor. But a function is
// there from the beginning, an arrow from its own line on: what may be called before that stays a function.
import { parse, type FunctionDeclaration, type Identifier, type Node } from "acorn";
import { isKey, isNode, nameOf, nodesIn, partsIn } from "./nodes.ts";

type Names = ReadonlySet<string>;
/** What nodes of several kinds have in common. */
interface Parts {
  readonly id?: Node | null;
  readonly params?: readonly Node[];
  readonly param?: Node | null;
  readonly body?: Node | readonly Node[];
  readonly init?: Node | null;
  readonly left?: Node;
  readonly callee?: Node;
  readonly superClass?: Node | null;
  readonly cases?: readonly { readonly consequent: readonly Node[] }[];
  readonly declarations?: readonly { readonly id: Node; readonly init?: Node | null }[];
}

/** The same script, `(()=>{...})()`, with arrows. Throws where it is not put together so. */
export function withArrows(code: string): string {
  const top = topOf(code);
  const early = calledEarly(top);
  const constructed = namesOf(top.flatMap(nodesIn).flatMap(madeOf));
  let out = code;
  for (const node of top.toReversed()) {
    if (!isFunction(node) || node.generator || early.has(node.id.name) || constructed.has(node.id.name) || needsItself(node)) continue;
    const params = node.params.map(({ start, end }) => code.slice(start, end)).join(",");
    out = `${out.slice(0, node.start)}var ${node.id.name}=${node.async ? "async" : ""}(${params})=>${code.slice(node.body.start, node.body.end)};${out.slice(node.end)}`;
  }
  return out;
}

/** Statements of the one function that is the script. */
function topOf(code: string): Node[] {
  const [whole] = parse(code, { ecmaVersion: 2017, sourceType: "script" }).body;
  const call = whole?.type === "ExpressionStatement" ? whole.expression : undefined;
  const script = call?.type === "CallExpression" ? call.callee : undefined;
  if (script?.type !== "ArrowFunctionExpression" || script.body.type !== "BlockStatement") throw new Error(`expected a script that is one function, called at once, got ${code.slice(0, 30)}`);
  return script.body.body;
}

/** Functions that may be called before their own line is reached, by whatever runs while the script starts. */
function calledEarly(top: readonly Node[]): Names {
  // what waits to be called, and what it names in turn
  const waiting = new Map<string, Names>();
  const [line, running] = [new Map<string, number>(), new Map<Node, number>()];
  top.forEach((node, at) => {
    for (const [name, part] of partsOf(node)) {
      line.set(name, at);
      if (name !== "" && waits(part)) waiting.set(name, takenBy(part));
      else running.set(part, at);
    }
  });
  const early = new Set<string>();
  running.forEach((at, part) => {
    const reached = new Set(takenBy(part));
    for (const name of reached) {
      if ((line.get(name) ?? -1) > at) early.add(name);
      waiting.get(name)?.forEach((other) => reached.add(other));
    }
  });
  return early;
}

/** What a statement of the top gives a name to, and the name; without one, what it does. */
function partsOf(node: Node): (readonly [name: string, part: Node])[] {
  if (isFunction(node)) return [[node.id.name, node]];
  const { declarations } = node as Parts;
  return declarations?.map(({ id, init }) => [nameOf(id), init ?? id] as const) ?? [["", node]];
}

const waits = ({ type }: Node): boolean => /^(?:ArrowFunction|Function|Class)/.test(type);

/** What a node makes an object of, or a class. */
function madeOf(node: Node): Node[] {
  const { callee, superClass } = node as Parts;
  return [node.type === "NewExpression" ? callee : superClass].filter(isNode);
}

/** The names that a part of the script takes from round it. */
function takenBy(node: Node): Names {
  if (node.type === "Identifier") return namesOf([node]);
  const names = new Set<string>();
  for (const part of partsIn(node)) if (!isKey(node, part)) takenBy(part).forEach((name) => names.add(name));
  declaredIn(node).forEach((name) => names.delete(name));
  return names;
}

/** What a function, a block, a loop, a choice or a catch declares for itself. */
function declaredIn(node: Node): Names {
  const { params = [], param, body, init, left, cases = [] } = node as Parts;
  const within = [init, left, ...(Array.isArray(body) ? body : []), ...cases.flatMap(({ consequent }) => consequent)].filter(isNode);
  const ids = within.flatMap((part) => (part.type.endsWith("Declaration") ? ((part as Parts).declarations?.map(({ id }) => id) ?? [(part as Parts).id]) : []));
  return namesOf([...params, param, ...ids].filter(isNode).flatMap(boundBy));
}

/** The names that a pattern gives. */
function boundBy(pattern: Node): Node[] {
  if (pattern.type === "Identifier") return [pattern];
  // of `a = b` the a, of `{ a: b }` the b, of all others everything
  return partsIn(pattern).filter((part) => part !== (pattern as Node & { right?: Node }).right && !isKey(pattern, part)).flatMap(boundBy);
}

/** Whether a function asks for what an arrow has none of. */
function needsItself({ params, body }: FunctionDeclaration): boolean {
  const asks = (node: Node): boolean => /^(?:ThisExpression|MetaProperty)$/.test(node.type) || nameOf(node) === "arguments" || (!node.type.startsWith("Function") && partsIn(node).some(asks));
  return [...params, body].some(asks);
}

const isFunction = (node: Node): node is FunctionDeclaration & { id: Identifier } => node.type === "FunctionDeclaration";

const namesOf = (nodes: readonly Node[]): Names => new Set(nodes.map(nameOf));
