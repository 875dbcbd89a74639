import type { Pedigree } from '../pedigree/pedigree.js';
import { weightedParents, type WeightedParents } from './weighted-parents.js';
import { weightedRow } from './weighted-row.js';

/**
 * Inbreeding coefficient F of every animal where some have several candidate parents: F_x = Σ p_k q_l f_kl over the
 * candidate sires k and dams l, with the average kinships f_xj = Σ p_k f_kj (Henderson 1988, J. Dairy Sci. 71 (Suppl. 2):1).
 * It is the expectation of F over the parents drawn independently for each animal and side. A certain parent is a candidate
 * with probability 1; with an unknown parent F = 0.
 *
 * Each distinct candidate list becomes a node of the pedigree (see {@link WeightedParents}), and then the method is that of
 * `inbreeding` for certain parents: one row of relationships for each parent of the side with fewer of them, restricted to
 * what it needs, shared by all its young; a list costs the ancestors of its candidates once, however many young have it.
 * A = T D Tᵀ holds with T from the weights and, for an animal, D = 1 − ¼(p′Ap + q′Aq), p and q being the weights over the
 * candidates of either side: its relationship with itself less what its parents explain. For certain parents p′Ap = 1 + F
 * and this is ½ − ¼(F_sire + F_dam). For candidates p′Ap is smaller, so D is larger: which parent it was is chance too.
 *
 * The two sides are independent: an animal that is a candidate sire k and a candidate dam l of the same child at once
 * stands in the sum with p_k·q_k and its kinship with itself, (1 + F)/2, as for selfing. Where the species cannot do that,
 * leave such an animal out of one side.
 *
 * @returns n coefficients
 */
export function inbreedingUncertain(pedigree: Pedigree): Float64Array {
  return inbreedingByShare(pedigree, new Float64Array(pedigree.order.length).fill(1));
}

/**
 * The part of every animal's inbreeding that comes from some founders: the chance that both of its genes are copies of the
 * same gene of one of them. All founders together give F.
 *
 * As {@link inbreedingUncertain}, with c_x, the share of the genes of x that comes from these founders, in place of 1: the
 * relationship of x with itself through them is c_x + F_x, and D_x = c_x − ¼(p′Ap + q′Aq).
 *
 * @param share c of every animal, 0 … 1: the mean over its parents, founders 1 or 0
 * @returns n coefficients
 */
export function inbreedingByShare(pedigree: Pedigree, share: Float64Array): Float64Array {
  const graph = weightedParents(pedigree);
  const { count, animalOf, sireNode, damNode } = graph;
  const young = youngByPivot(graph);
  const f = new Float64Array(pedigree.order.length);
  const self = new Float64Array(count + 1); // relationship of each node with itself; 0 for the unknown parent
  const sampling = new Float64Array(count + 1);
  const row = weightedRow(graph, sampling);

  for (let pivot = 1; pivot <= count; pivot++) {
    const animal = animalOf[pivot] as number;
    if (animal >= 0) {
      const c = share[animal] as number;
      const ofSire = self[sireNode[animal] as number] as number;
      self[pivot] = c + (f[animal] as number);
      sampling[pivot] = chanceLeft(c, ofSire, self[damNode[animal] as number] as number);
    }
    const first = young.start[pivot] as number;
    const end = young.start[pivot + 1] as number;
    if (animal >= 0 && first === end) continue;
    const withItself = row.up(pivot);
    if (animal < 0) self[pivot] = withItself;
    const mates = young.mate.subarray(first, end);
    if (mates.length > 0) row.down(mates);
    for (let k = first; k < end; k++) {
      const other = young.mate[k] as number;
      f[young.child[k] as number] = 0.5 * (other === pivot ? (self[pivot] as number) : (row.value[other] as number));
    }
    row.clear();
  }
  return f;
}

/**
 * D of every animal, the share of its genes that its parents leave to chance: D = 1 − ¼(p′Ap + q′Aq), see
 * {@link inbreedingUncertain}. Where parents have candidates the coefficients F do not hold it, and it costs the ancestors
 * of each distinct list; where all are certain it is ½ − ¼(F_sire + F_dam) (Quaas 1976), O(n).
 *
 * @param inbreeding F of each, from `inbreeding`
 * @returns n numbers, for the `sampling` of `relationshipProduct` and the functions built on it
 */
export function mendelianSamplings(pedigree: Pedigree, inbreeding: Float64Array): Float64Array {
  const { sire, dam, sireCandidates, damCandidates } = pedigree;
  const n = sire.length;
  const result = new Float64Array(n);
  if (!sireCandidates && !damCandidates) {
    const selfOf = (parent: number): number => (parent < 0 ? 0 : 1 + (inbreeding[parent] as number));
    for (let i = 0; i < n; i++) result[i] = chanceLeft(1, selfOf(sire[i] as number), selfOf(dam[i] as number));
    return result;
  }
  const graph = weightedParents(pedigree);
  const { count, animalOf, sireNode, damNode } = graph;
  const self = new Float64Array(count + 1);
  const sampling = new Float64Array(count + 1);
  const row = weightedRow(graph, sampling);
  const ofAnimal = (i: number): number =>
    chanceLeft(1, self[sireNode[i] as number] as number, self[damNode[i] as number] as number);
  for (let node = 1; node <= count; node++) {
    const animal = animalOf[node] as number;
    if (animal >= 0) {
      self[node] = 1 + (inbreeding[animal] as number);
      sampling[node] = ofAnimal(animal);
    } else {
      self[node] = row.up(node);
      row.clear();
    }
  }
  for (let i = 0; i < n; i++) result[i] = ofAnimal(i);
  return result;
}

/** D from c, 1 where all founders count, and the relationships of the two parents with themselves, 0 for an unknown one. */
function chanceLeft(c: number, sireSelf: number, damSelf: number): number {
  return c - 0.25 * (sireSelf + damSelf);
}

/** Animals with two parents, listed by the sire or by the dam, whichever side has fewer nodes. */
function youngByPivot({ count, sireNode, damNode }: WeightedParents) {
  const bySire = distinct(count, sireNode, damNode) <= distinct(count, damNode, sireNode);
  const pivotOf = bySire ? sireNode : damNode;
  const mateOf = bySire ? damNode : sireNode;
  const start = new Int32Array(count + 2);
  let total = 0;
  for (let i = 0; i < pivotOf.length; i++) {
    const pivot = pivotOf[i] as number;
    if (pivot === 0 || mateOf[i] === 0) continue;
    start[pivot + 1] = (start[pivot + 1] as number) + 1;
    total++;
  }
  for (let node = 1; node < start.length; node++) start[node] = (start[node] as number) + (start[node - 1] as number);
  const child = new Int32Array(total);
  const mate = new Int32Array(total);
  const free = start.slice();
  for (let i = 0; i < pivotOf.length; i++) {
    const pivot = pivotOf[i] as number;
    if (pivot === 0 || mateOf[i] === 0) continue;
    const at = free[pivot] as number;
    free[pivot] = at + 1;
    child[at] = i;
    mate[at] = mateOf[i] as number;
  }
  return { start, child, mate };
}

/** How many nodes stand in `nodes` where the other parent is known too. */
function distinct(count: number, nodes: Int32Array, others: Int32Array): number {
  const seen = new Uint8Array(count + 1);
  let found = 0;
  for (let i = 0; i < nodes.length; i++) {
    const node = nodes[i] as number;
    if (node === 0 || others[i] === 0 || seen[node] === 1) continue;
    seen[node] = 1;
    found++;
  }
  return found;
}
