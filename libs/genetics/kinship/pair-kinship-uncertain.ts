import { mendelianSamplings } from '../inbreeding/inbreeding-uncertain.js';
import type { Pedigree } from '../pedigree/pedigree.js';
import { weightedParents } from '../inbreeding/weighted-parents.js';
import { weightedRow } from '../inbreeding/weighted-row.js';

/**
 * `pairKinship` where parents have candidates: average kinships (Henderson 1988) of single pairs, one after another, from the
 * ancestors of the two only. Preparing costs O(n + candidates), and the sampling where it is left out.
 *
 * @param inbreeding F of each animal, from `inbreeding`
 * @param sampling   see `relationshipProduct`
 */
export function pairKinshipUncertain(
  pedigree: Pedigree,
  inbreeding: Float64Array,
  sampling?: Float64Array,
): (a: number, b: number) => number {
  const graph = weightedParents(pedigree);
  const { count, animalOf, nodeOf, sireNode, damNode } = graph;
  const known = sampling ?? mendelianSamplings(pedigree, inbreeding);
  const ofNode = new Float64Array(count + 1);
  for (let node = 1; node <= count; node++) {
    const animal = animalOf[node] as number;
    if (animal >= 0) ofNode[node] = known[animal] as number; // chance adds nothing to a list
  }
  const row = weightedRow(graph, ofNode);

  /** The nodes that stand for an animal: its own, or those of its parents, with ½ each, where it has no offspring. */
  const nodesOf = (animal: number): Int32Array => {
    const own = nodeOf[animal] as number;
    if (own !== 0) return Int32Array.of(own);
    return Int32Array.of(sireNode[animal] as number, damNode[animal] as number).filter((node) => node !== 0);
  };

  return (a, b) => {
    if (a === b) return 0.5 * (1 + (inbreeding[a] as number));
    const others = nodesOf(b);
    if (others.length === 0) return 0;
    const shareA = nodeOf[a] === 0 ? 0.5 : 1;
    const shareB = nodeOf[b] === 0 ? 0.5 : 1;
    let relationship = 0;
    for (const node of nodesOf(a)) {
      row.up(node);
      row.down(others);
      for (const other of others) relationship += shareA * shareB * (row.value[other] as number);
      row.clear();
    }
    return 0.5 * relationship;
  };
}
