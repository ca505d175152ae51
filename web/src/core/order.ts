// In what order and from which end to drive runs: shortest forward way from here to the gate.
//
// Up to nine runs are ordered exactly (dynamic programming over sets); more by inserting each where it
// costs least and then mending: reversed stretches, moved runs, single runs driven from the other end.
import type { Floats } from "./words";

/** So many runs are ordered exactly. */
export const EXACT = 9;
/** Rounds of mending. */
const ROUNDS = 30;

/**
 * Cost of the way between runs; node 2k is run k as given, 2k + 1 the same run backwards. `start` from here
 * to each node's beginning, `between` (row by row) from the end of a node to the beginning of another,
 * `home` from each end to the gate, `own` of driving the node itself; `direct` the way from here straight to
 * the gate.
 */
export interface Costs {
  readonly start: Floats;
  readonly between: Floats;
  readonly home: Floats;
  readonly own: Floats;
  readonly direct: number;
}

/** Cost of one order of nodes. */
export function totalOf(costs: Costs, nodes: ArrayLike<number>, count = nodes.length): number {
  if (count === 0) return costs.direct;
  const n = costs.start.length;
  let sum = costs.start[nodes[0]] + costs.home[nodes[count - 1]] + costs.own[nodes[0]];
  for (let i = 1; i < count; i++) {
    sum += costs.between[nodes[i - 1] * n + nodes[i]] + costs.own[nodes[i]];
  }
  return sum;
}

/** The costs of some of the runs alone, in their own numbering. */
export function costsAmong({ start, between, home, own, direct }: Costs, runs: readonly number[]): Costs {
  const at = runs.reduce<number[]>((all, k) => all.concat(2 * k, 2 * k + 1), []);
  const some = (all: Floats): Floats => Float64Array.from(at, (node) => all[node]);
  const n = at.length;
  return { start: some(start), home: some(home), own: some(own), direct, between: new Float64Array(n * n).map((_, k) => between[at[Math.floor(k / n)] * start.length + at[k % n]]) };
}

/** An order with one run more, put in where and as it costs least. */
export function withOne(costs: Costs, nodes: readonly number[], run: number): readonly number[] {
  let [best, least]: [readonly number[], number] = [[], Infinity];
  for (let at = 0; at <= nodes.length; at++) {
    for (const node of [2 * run, 2 * run + 1]) {
      const taken = [...nodes.slice(0, at), node, ...nodes.slice(at)];
      const cost = totalOf(costs, taken);
      if (cost < least) [best, least] = [taken, cost];
    }
  }
  return best;
}

/** The nodes in driving order. */
export function order(costs: Costs, exact = EXACT): readonly number[] {
  const runs = costs.start.length / 2;
  if (runs === 0) return [];
  return runs <= exact ? exactly(costs) : mended(costs);
}

/** The best order of all, by dynamic programming over sets (Held and Karp 1962). */
export function exactly({ start, between, home, own }: Costs): number[] {
  const nodes = start.length;
  const size = 1 << (nodes / 2);
  const best = new Float64Array(size * nodes).fill(Infinity);
  const came = new Int16Array(size * nodes).fill(-1);
  for (let node = 0; node < nodes; node++) {
    best[(1 << (node >> 1)) * nodes + node] = start[node] + own[node];
  }
  for (let done = 1; done < size; done++) {
    for (let node = 0; node < nodes; node++) {
      const bit = 1 << (node >> 1);
      if ((done & bit) !== 0) continue;
      const to = (done | bit) * nodes + node;
      for (let via = 0; via < nodes; via++) {
        const cost = best[done * nodes + via] + between[via * nodes + node] + own[node];
        if (cost < best[to]) [best[to], came[to]] = [cost, via];
      }
    }
  }
  let [last, least] = [0, Infinity];
  for (let node = 0; node < nodes; node++) {
    const cost = best[(size - 1) * nodes + node] + home[node];
    if (cost < least) [last, least] = [node, cost];
  }
  const out = [last];
  for (let done = size - 1; came[done * nodes + out[0]] >= 0; ) {
    const node = out[0];
    out.unshift(came[done * nodes + node]);
    done &= ~(1 << (node >> 1));
  }
  return out;
}

/** A good order: cheapest insertion from several beginnings, each mended until nothing helps. */
export function mended(costs: Costs): readonly number[] {
  const firsts = Array.from(costs.start.keys()).sort(
    (a, b) => costs.start[a] + costs.own[a] - costs.start[b] - costs.own[b] || a - b,
  );
  let [best, least]: [readonly number[], number] = [[], Infinity];
  for (const first of firsts.slice(0, 4)) {
    const nodes = mend(costs, inserted(costs, first));
    const cost = totalOf(costs, nodes);
    if (cost < least) [best, least] = [nodes, cost];
  }
  return best;
}

/** Always the run, its end and its place that add least to the way. */
function inserted({ start, between, home, own }: Costs, first: number): number[] {
  const n = start.length;
  const nodes = [first];
  const left = new Uint8Array(n).fill(1);
  left[first] = left[first ^ 1] = 0;
  while (nodes.length < n / 2) {
    let [least, place, chosen] = [Infinity, 0, 0];
    for (let at = 0; at <= nodes.length; at++) {
      const [from, to] = [nodes[at - 1], nodes[at]];
      const was = at === 0 ? start[to] : at === nodes.length ? home[from] : between[from * n + to];
      for (let node = 0; node < n; node++) {
        if (left[node] === 0) continue;
        const before = at === 0 ? start[node] : between[from * n + node];
        const after = at === nodes.length ? home[node] : between[node * n + to];
        const more = before + after - was + own[node];
        if (more < least) [least, place, chosen] = [more, at, node];
      }
    }
    nodes.splice(place, 0, chosen);
    left[chosen] = left[chosen ^ 1] = 0;
  }
  return nodes;
}

/** Reversed stretches (2-opt), moved stretches (or-opt) and runs from the other end. */
function mend(costs: Costs, first: readonly number[]): readonly number[] {
  let nodes = first;
  for (let round = 0; round < ROUNDS; round++) {
    const better = neighbour(costs, nodes);
    if (better === null) break;
    nodes = better;
  }
  return nodes;
}

/** The first changed order that costs less; null where none does. What a change adds is told by its ends. */
function neighbour(costs: Costs, nodes: readonly number[]): number[] | null {
  const n = nodes.length;
  const legs = new Sums(costs, nodes);
  const leg = (from: number | undefined, to: number | undefined): number => legs.leg(from, to);
  for (let i = 0; i < n; i++) {
    for (let j = i; j < n; j++) {
      const [before, after] = [nodes[i - 1], nodes[j + 1]];
      const was = leg(before, nodes[i]) + leg(nodes[j], after);
      const is = leg(before, nodes[j] ^ 1) + leg(nodes[i] ^ 1, after);
      if (is - was + legs.reversing(i, j) < -1e-9) {
        const turned = nodes.slice(i, j + 1).reverse().map((node) => node ^ 1);
        return [...nodes.slice(0, i), ...turned, ...nodes.slice(j + 1)];
      }
    }
    for (let length = 1; length <= 3 && i + length <= n; length++) {
      const [first, last] = [nodes[i], nodes[i + length - 1]];
      const rest = (k: number): number | undefined => nodes[k < i ? k : k + length];
      const gone = leg(nodes[i - 1], nodes[i + length]) - leg(nodes[i - 1], first) - leg(last, nodes[i + length]);
      for (let at = 0; at <= n - length; at++) {
        if (at === i) continue;
        const [before, after] = [at === 0 ? undefined : rest(at - 1), rest(at)];
        if (gone + leg(before, first) + leg(last, after) - leg(before, after) < -1e-9) {
          const others = [...nodes.slice(0, i), ...nodes.slice(i + length)];
          others.splice(at, 0, ...nodes.slice(i, i + length));
          return others;
        }
      }
    }
  }
  return null;
}

/** Running sums along an order, as it is and with every run turned and the way back. */
class Sums {
  private readonly costs: Costs;
  private readonly nodes: readonly number[];
  private readonly ahead: Floats;
  private readonly back: Floats;

  constructor(costs: Costs, nodes: readonly number[]) {
    this.costs = costs;
    this.nodes = nodes;
    const { between, own, start } = costs;
    const n = start.length;
    this.ahead = new Float64Array(nodes.length + 1);
    this.back = new Float64Array(nodes.length + 1);
    nodes.forEach((node, k) => {
      const before = k === 0 ? node : nodes[k - 1];
      this.ahead[k + 1] = this.ahead[k] + own[node] + (k === 0 ? 0 : between[before * n + node]);
      this.back[k + 1] = this.back[k] + own[node ^ 1] + (k === 0 ? 0 : between[(node ^ 1) * n + (before ^ 1)]);
    });
  }

  /** The way from one node to another; undefined is here, or the gate. */
  leg(from: number | undefined, to: number | undefined): number {
    const { start, home, between, direct } = this.costs;
    if (from === undefined) return to === undefined ? direct : start[to];
    return to === undefined ? home[from] : between[from * start.length + to];
  }

  /** What turning a stretch round adds within it. */
  reversing(i: number, j: number): number {
    const { between, start } = this.costs;
    const n = start.length;
    const [node, before] = [this.nodes[i], this.nodes[i - 1]];
    // the leg that leads into the stretch is no part of it
    const into = i === 0 ? 0 : between[before * n + node];
    const out = i === 0 ? 0 : between[(node ^ 1) * n + (before ^ 1)];
    return this.back[j + 1] - this.back[i] - out - (this.ahead[j + 1] - this.ahead[i] - into);
  }
}
