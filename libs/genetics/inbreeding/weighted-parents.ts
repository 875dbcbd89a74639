import type { Candidates, Pedigree } from '../pedigree/pedigree.js';

/**
 * The animals of a pedigree that may have offspring and the candidate lists of their children, as nodes 1 … count, each
 * after those it comes from. Node 0 stands for every unknown parent.
 *
 * A candidate list is a node of its own, an average parent: it comes from its candidates with their probabilities as
 * weights, where an animal comes from its two parents with ½ each, and chance adds nothing to it. Then an animal with
 * candidates is an ordinary child of such a node, and its average relationships (Henderson 1988, J. Dairy Sci. 71
 * (Suppl. 2):1) are the ordinary ones in this larger pedigree. Equal lists, as whole litters have them, share one node.
 */
export interface WeightedParents {
  readonly count: number;
  /** The nodes that node k comes from stand at `start[k]` … `start[k + 1]` − 1 in `parent`, with their `weight`. */
  readonly start: Int32Array;
  readonly parent: Int32Array;
  readonly weight: Float64Array;
  /** Animal of each node, −1 for a list. */
  readonly animalOf: Int32Array;
  /** Node of each animal, 0 for one that has no offspring; n numbers. */
  readonly nodeOf: Int32Array;
  /** Node that the sire of each animal is: an animal, a list, or 0 for unknown; n numbers. */
  readonly sireNode: Int32Array;
  readonly damNode: Int32Array;
}

/** Numbers the parents and the candidate lists of a pedigree. O(n + candidates). */
export function weightedParents(pedigree: Pedigree): WeightedParents {
  const { sire, dam, order, sireCandidates, damCandidates } = pedigree;
  const n = order.length;
  const nodeOf = flagParents(pedigree);
  const sireNode = new Int32Array(n);
  const damNode = new Int32Array(n);
  const lists = distinctLists(sireCandidates, damCandidates);
  const animals = nodeOf.reduce((sum, flag) => sum + flag, 0);
  const start = new Int32Array(animals + lists.mostLists + 2);
  const animalOf = new Int32Array(animals + lists.mostLists + 1).fill(-1);
  const parent = new Int32Array(2 * animals + lists.mostCandidates);
  const weight = new Float64Array(2 * animals + lists.mostCandidates);
  let count = 0;
  let edges = 0;

  const comesFrom = (node: number, share: number): void => {
    if (node === 0) return;
    parent[edges] = node;
    weight[edges++] = share;
  };
  const nodeOfParent = (certain: number, candidates: Candidates | undefined, animal: number): number => {
    if (certain >= 0) return nodeOf[certain] as number;
    const first = candidates?.start[animal] ?? 0;
    const end = candidates?.start[animal + 1] ?? 0;
    if (!candidates || first === end) return 0;
    return lists.nodeFor(candidates, first, end, () => {
      start[++count] = edges;
      for (let k = first; k < end; k++)
        comesFrom(nodeOf[candidates.parent[k] as number] as number, candidates.probability[k] as number);
      return count;
    });
  };
  for (const i of order) {
    const fromSire = nodeOfParent(sire[i] as number, sireCandidates, i);
    const fromDam = nodeOfParent(dam[i] as number, damCandidates, i);
    sireNode[i] = fromSire;
    damNode[i] = fromDam;
    if (nodeOf[i] === 0) continue;
    start[++count] = edges;
    animalOf[count] = i;
    nodeOf[i] = count;
    comesFrom(fromSire, 0.5);
    comesFrom(fromDam, 0.5);
  }
  start[count + 1] = edges;
  return { count, start, parent, weight, animalOf, nodeOf, sireNode, damNode };
}

/** 1 for each animal that is a certain parent or a candidate, 0 for others. */
function flagParents({ sire, dam, sireCandidates, damCandidates }: Pedigree): Int32Array {
  const flags = new Int32Array(sire.length);
  const flag = (parents: Int32Array | undefined): void => {
    if (parents)
      for (let k = 0; k < parents.length; k++) if ((parents[k] as number) >= 0) flags[parents[k] as number] = 1;
  };
  for (const parents of [sire, dam, sireCandidates?.parent, damCandidates?.parent]) flag(parents);
  return flags;
}

/** Finds lists that were met before, by a hash of their content that is then compared. */
function distinctLists(...sides: readonly (Candidates | undefined)[]) {
  let mostLists = 0;
  let mostCandidates = 0;
  for (const side of sides) {
    if (!side) continue;
    mostCandidates += side.parent.length;
    for (let i = 0; i + 1 < side.start.length; i++) if (side.start[i] !== side.start[i + 1]) mostLists++;
  }
  const byHash = new Map<number, { candidates: Candidates; first: number; end: number; node: number }[]>();

  const hashOf = ({ parent, probability }: Candidates, first: number, end: number): number => {
    let hash = end - first;
    for (let k = first; k < end; k++)
      hash =
        Math.imul(hash, 31) + Math.imul(parent[k] as number, 0x9e3779b1) + (((probability[k] as number) * 1e6) | 0);
    return hash | 0;
  };

  /** The node of a list, made by `create` where no equal list has one. */
  const nodeFor = (candidates: Candidates, first: number, end: number, create: () => number): number => {
    const hash = hashOf(candidates, first, end);
    const alike = byHash.get(hash);
    const same = alike?.find((other) => {
      if (other.end - other.first !== end - first) return false;
      for (let k = first, m = other.first; k < end; k++, m++) {
        if (candidates.parent[k] !== other.candidates.parent[m]) return false;
        if (candidates.probability[k] !== other.candidates.probability[m]) return false;
      }
      return true;
    });
    if (same) return same.node;
    const entry = { candidates, first, end, node: create() };
    if (alike) alike.push(entry);
    else byHash.set(hash, [entry]);
    return entry.node;
  };
  return { mostLists, mostCandidates, nodeFor };
}
