import { kinship, pairKinship, UNKNOWN } from '../../genetics/index.js';
import { type PedigreeSnapshot } from './pedigree-snapshot.core.js';

/** Births after which pairs are made ready anew: their parents are among the animals that are known then. */
const RENEW_AFTER = 2_000;
/** Steps through animals born since, beyond which a whole product is cheaper. */
const MOST_STEPS = 1_000;

/**
 * Kinship of two animals of a snapshot whose parents are all certain, and so the inbreeding of their young. What makes single
 * pairs cheap is made ready once for a pedigree and kept with its memory while animals are added: kinship with an animal
 * born since is the mean of that with its parents (Malécot 1948).
 */
export function kinshipOfPair(snapshot: PedigreeSnapshot, first: number, second: number): number {
  const { pedigree, inbreeding } = snapshot;
  const { pairs } = snapshot.memory;
  const n = snapshot.ids.length;
  if (pairs.ready === null || n - pairs.ready.size > RENEW_AFTER)
    pairs.ready = { of: pairKinship(pedigree, inbreeding), size: n };
  const known = pairs.ready;
  let steps = 0;
  const between = (a: number, b: number): number => {
    if (a === UNKNOWN || b === UNKNOWN || steps > MOST_STEPS) return 0;
    if (a === b) return 0.5 * (1 + (inbreeding[a] ?? 0));
    const [older, younger] = a < b ? [a, b] : [b, a];
    if (younger < known.size) return known.of(older, younger);
    steps += 1;
    // The younger of the two is no ancestor of the other.
    const bySire = between(older, pedigree.sire[younger] ?? UNKNOWN);
    return 0.5 * (bySire + between(older, pedigree.dam[younger] ?? UNKNOWN));
  };
  const value = between(first, second);
  return steps > MOST_STEPS ? kinship(pedigree, inbreeding, first, second) : value;
}
