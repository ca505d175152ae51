// `a ?? b` and `a?.b` as an old phone runs them: what is asked about is held in a variable meanwhile, and the
// compiler declares one for each place. Where it is read at once, before anything else runs, a single one for the
// whole script does: smaller, but slower than a function's own, and therefore nothing for the engine's loops over cells,
// positions and ways back, nor for what every position of a day passes through when its log is read and its ground painted again.
import { parse, type ConditionalExpression, type Identifier, type LogicalExpression, type Node, type VariableDeclaration } from "acorn";
import type { Plugin } from "vite";

/** The one variable. Minifiers leave its name alone where it is not declared, and the short ones they give stay the same everywhere. */
export const HELD = "$";
/** How the script begins. */
export const HEAD = '(()=>{"use strict";';

/** The whole script, minified, with the variable declared round it. Throws where it does not begin as it is put together. */
export function declared(code: string): string {
  if (!code.startsWith(HEAD)) throw new Error(`expected a script that begins with ${HEAD}, got ${code.slice(0, HEAD.length)}`);
  return `${HEAD}let ${HELD};${code.slice(HEAD.length)}`;
}

interface Change {
  readonly start: number;
  readonly end: number;
  readonly to: string;
}

/** A compiled module with `HELD` in place of every variable of the compiler's that is only ever read at once. Throws where it has such a name. */
export function withOneHeld(code: string): string {
  const nodes = nodesIn(parse(code, { ecmaVersion: "latest", sourceType: "module" }));
  const atOnce = new Set(nodes.flatMap(readAtOnce));
  const named = new Map<string, Identifier[]>();
  for (const node of nodes.filter(isName)) named.set(node.name, [...(named.get(node.name) ?? []), node]);
  if (named.has(HELD)) throw new Error(`expected no ${HELD} of the module's own: it is the script's`);
  const changes = nodes.flatMap((node) => (node.type === "VariableDeclaration" ? undeclared(code, node as VariableDeclaration, atOnce, named) : []));
  let out = code;
  for (const { start, end, to } of changes.toSorted((a, b) => b.start - a.start)) out = out.slice(0, start) + to + out.slice(end);
  return out;
}

/** Takes such variables out of a declaration and renames what was read of them. */
function undeclared(code: string, { kind, declarations, start, end }: VariableDeclaration, atOnce: ReadonlySet<Node>, named: ReadonlyMap<string, readonly Identifier[]>): Change[] {
  const kept: string[] = [];
  const uses: Identifier[] = [];
  for (const { id, init } of declarations) {
    const all = isName(id) && id.name.startsWith("_") ? (named.get(id.name) ?? []).filter((use) => use !== id) : [];
    if (kind === "var" && init === null && all.length > 0 && all.every((use) => atOnce.has(use))) uses.push(...all);
    else kept.push(code.slice(id.start, (init ?? id).end));
  }
  if (uses.length === 0) return [];
  return [{ start, end, to: kept.length === 0 ? "" : `var ${kept.join(", ")};` }, ...uses.map((use) => ({ start: use.start, end: use.end, to: HELD }))];
}

/** Names in `(_a = x) == null || y` and `(_a = x) !== null && _a !== void 0 ? y : z`, where y begins with _a. */
function readAtOnce(node: Node): readonly Identifier[] {
  if (node.type === "LogicalExpression") {
    const { operator, left, right } = node as LogicalExpression;
    return heldFor(operator === "||" ? lastAsked(left) : left, right);
  }
  if (node.type !== "ConditionalExpression") return [];
  const { test, consequent, alternate } = node as ConditionalExpression;
  return test.type === "LogicalExpression" && test.operator === "&&" ? heldFor(test.left, consequent) : heldFor(lastAsked(test), alternate);
}

/** Of `a || b || c` the part that is asked last before all are known to be false. */
const lastAsked = (test: Node): Node => (test.type === "LogicalExpression" && (test as LogicalExpression).operator === "||" ? (test as LogicalExpression).right : test);

/** The name that a test assigns, and the same where it is what is evaluated first of what follows the test. */
function heldFor(test: Node, next: Node): readonly Identifier[] {
  const asked = partOf(test, "BinaryExpression", "left");
  const assigned = asked === undefined ? undefined : partOf(asked, "AssignmentExpression", "left");
  const [name, first] = [assigned ?? asked, firstOf(next)];
  if (name === undefined || !isName(name) || !isName(first) || name.name !== first.name) return [];
  // of one that was assigned before, the asking itself must have come at once
  return assigned === undefined ? [first] : [name, first];
}

/** Where the evaluation of an expression begins. */
const FIRST: Readonly<Record<string, string>> = { MemberExpression: "object", CallExpression: "callee", BinaryExpression: "left", LogicalExpression: "left", ConditionalExpression: "test" };

function firstOf(node: Node): Node {
  // what is assigned to a name comes before the name
  const assigned = partOf(node, "AssignmentExpression", "left");
  const part = assigned !== undefined && isName(assigned) ? "right" : FIRST[node.type];
  const first = part === undefined ? undefined : partOf(node, node.type, part);
  return first === undefined ? node : firstOf(first);
}

const isName = (node: Node): node is Identifier => node.type === "Identifier";

const partOf = (node: Node, type: string, part: string): Node | undefined => (node.type === type ? (node as unknown as Readonly<Record<string, Node>>)[part] : undefined);

function nodesIn(node: Node): Node[] {
  const parts = Object.values(node).flat().filter((part): part is Node => typeof (part as Partial<Node> | null)?.type === "string");
  return [node, ...parts.flatMap(nodesIn)];
}

/** Whose loops ask so often that each function keeps its own. */
const OFTEN = "aim|causes|chunk|follow|glance|grid|live|read|relive|worth";

/** The same as a step of the build, for everything but those. */
export function held(): Plugin {
  return {
    name: "unsown-held",
    apply: "build",
    enforce: "post",
    transform: { filter: { id: new RegExp(`src/(?:cab|carry|core|formats|keep)/(?!(?:${OFTEN})\\.).*\\.ts$`) }, handler: (code) => ({ code: withOneHeld(code), map: null }) },
  };
}
