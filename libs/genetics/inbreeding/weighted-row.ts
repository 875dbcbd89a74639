import type { WeightedParents } from './weighted-parents.js';

/**
 * A walk from child to parent is tried up to this share of the nodes: running straight through the arrays costs a
 * fraction, a node, of walking, and a walk that was given up is lost work.
 */
const WALK_SHARE = 1 / 32;

/** The relationships of one node with others, one node after another in the same memory. */
export interface WeightedRow {
  /** A between the node last handed to `up` and each of the nodes handed to `down`. */
  readonly value: Float64Array;
  /** Starts with a node; the sampling of all it comes from must be there. Returns its relationship with itself. */
  up(node: number): number;
  /** Computes the relationship with each of some nodes; their sampling is needed only where `node` descends from them. */
  down(nodes: Int32Array): void;
  /** Makes ready for the next node, at no more than the cost of what was written. */
  clear(): void;
}

/**
 * Two passes over what is concerned of the pedigree (Colleau 2002, Genet. Sel. Evol. 34:409), with the weights of
 * {@link WeightedParents} in place of halves: up, w = Tᵀe over the ancestors of the node, whose relationship with itself
 * is Σ D·w²; down, A_j = Σ weight·A_parent + D_j·w_j over the ancestors of the nodes asked for.
 *
 * @param sampling D by node, 0 for lists, filled by the caller as it goes
 */
export function weightedRow(graph: WeightedParents, sampling: Float64Array): WeightedRow {
  const { start, parent, weight } = graph;
  const w = new Float64Array(graph.count + 1);
  const value = new Float64Array(graph.count + 1);
  const above = weightedWalk(graph);
  const beside = weightedWalk(graph);
  let node = 0;
  let oldest = 1; // the lowest node that the one in hand descends from: below it nobody is related to it
  let youngest = 0;
  let fewAbove = true;
  let fewBeside = true;

  return {
    value,
    up(given) {
      node = given;
      oldest = given;
      youngest = 0;
      w[given] = 1;
      above.begin(given * WALK_SHARE + 1, 1);
      fewAbove = above.add(given);
      let self = 0;
      const last = fewAbove ? 0 : 1;
      for (let k = fewAbove ? above.size() - 1 : given; k >= last; k--) {
        const at = fewAbove ? (above.found[k] as number) : k;
        const held = w[at] as number;
        if (held === 0) continue;
        const end = start[at + 1] as number;
        for (let e = start[at] as number; e < end; e++) {
          const from = parent[e] as number;
          w[from] = (w[from] as number) + held * (weight[e] as number);
        }
        const kept = held * (sampling[at] as number);
        self += held * kept;
        w[at] = kept;
        if (at < oldest) oldest = at;
      }
      return self;
    },
    down(nodes) {
      for (const other of nodes) if (other > youngest) youngest = other;
      beside.begin((youngest - oldest) * WALK_SHARE + 1, oldest);
      fewBeside = true;
      for (let k = 0; fewBeside && k < nodes.length; k++) fewBeside = beside.add(nodes[k] as number);
      const last = fewBeside ? beside.size() - 1 : youngest;
      for (let k = fewBeside ? 0 : oldest; k <= last; k++) {
        const at = fewBeside ? (beside.found[k] as number) : k;
        let sum = w[at] as number;
        const end = start[at + 1] as number;
        for (let e = start[at] as number; e < end; e++)
          sum += (weight[e] as number) * (value[parent[e] as number] as number);
        value[at] = sum;
      }
    },
    clear() {
      if (fewAbove) for (let k = 0; k < above.size(); k++) w[above.found[k] as number] = 0;
      else w.fill(0, oldest, node + 1);
      if (youngest === 0) return;
      if (fewBeside) for (let k = 0; k < beside.size(); k++) value[beside.found[k] as number] = 0;
      else value.fill(0, oldest, youngest + 1);
    },
  };
}

/** Collects what nodes come from, older before younger, as long as they are few. Depth first with its own stack. */
function weightedWalk({ count, start, parent }: WeightedParents) {
  const found = new Int32Array(count + 1);
  const path = new Int32Array(count + 1);
  const edge = new Int32Array(count + 1);
  const seen = new Int32Array(count + 1);
  let round = 0;
  let size = 0;
  let met = 0;
  let limit = 0;
  let oldest = 1;

  return {
    /** The first `size()` entries are what was found. */
    found,
    size: () => size,
    /** Starts anew; gives up beyond `mostNodes` and does not go below the node `lowest`. */
    begin(mostNodes: number, lowest: number): void {
      round++;
      size = 0;
      met = 0;
      limit = mostNodes;
      oldest = lowest;
    },
    /** Adds a node and all it comes from; false once the limit is passed. */
    add(node: number): boolean {
      if (node < oldest || seen[node] === round) return true;
      let depth = 1;
      path[0] = node;
      seen[node] = round;
      edge[node] = start[node] as number;
      if (++met > limit) return false;
      while (depth > 0) {
        const at = path[depth - 1] as number;
        const e = edge[at] as number;
        if (e === start[at + 1]) {
          found[size++] = at;
          depth--;
          continue;
        }
        edge[at] = e + 1;
        const next = parent[e] as number;
        if (next < oldest || seen[next] === round) continue;
        if (++met > limit) return false;
        seen[next] = round;
        edge[next] = start[next] as number;
        path[depth++] = next;
      }
      return true;
    },
  };
}
