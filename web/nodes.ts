// Going through a script as acorn reads it.
import type { Identifier, Node } from "acorn";

export const isNode = (part: unknown): part is Node => typeof (part as Partial<Node> | null | undefined)?.type === "string";

/** What a node is put together of, in the order in which it stands. */
export const partsIn = (node: Node): Node[] => Object.values(node).flat().filter(isNode);

/** A node and all that is in it. */
export const nodesIn = (node: Node): Node[] => [node, ...partsIn(node).flatMap(nodesIn)];

/** The name of a thing; empty where a node is none. */
export const nameOf = (node: Node): string => (node.type === "Identifier" ? (node as Identifier).name : "");

/** Of `a.b` and `{ b: c }` the b: no name of a thing. */
export function isKey(node: Node, part: Node): boolean {
  const { computed, property, key, value } = node as Node & { readonly computed?: boolean; readonly property?: Node; readonly key?: Node; readonly value?: Node };
  return computed === false && (property === part || key === part) && value !== part;
}
