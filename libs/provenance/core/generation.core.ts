import type { Generation, MatingFinding, OriginRecord, ParentRecord } from './origin-record.core.js';

/** Nothing is shown, and anything is possible. */
export const UNKNOWN_GENERATION: Generation = { lowest: 0, highest: null };

const WILD: Generation = { lowest: 0, highest: 0 };

/**
 * Generations of captive breeding, as an interval: 0 for an animal from the wild or from a mating outside a controlled
 * environment; otherwise one more than its parents, of whom the one nearer to the wild counts (young of a wild-caught parent
 * are first generation); the lowest stays 0 where the mating is not shown to have been in a controlled environment.
 * Source: own derivation from CITES Res. Conf. 10.16 (Rev.) 1(c) to (d), from memory.
 */
export function generationOf(
  record: Pick<OriginRecord, 'claim' | 'acquisition' | 'dam' | 'sire'>,
  mating: MatingFinding,
): Generation {
  if (record.acquisition?.manner === 'wild_taken' || mating.controlled === 'no') return WILD;
  if (record.acquisition === null && record.claim?.origin === 'wild') return UNKNOWN_GENERATION;
  const [dam, sire] = [generationOfParent(record.dam), generationOfParent(record.sire)];
  const shown = mating.controlled === 'yes' && mating.kind !== 'captive_window_open';
  return {
    lowest: shown ? 1 + Math.min(dam.lowest, sire.lowest) : 0,
    highest: oneMore(lowerOf(dam.highest, sire.highest)),
  };
}

function generationOfParent(parent: ParentRecord | null): Generation {
  return parent?.generation ?? UNKNOWN_GENERATION;
}

/** The lower of two highest values, where null is without limit. */
function lowerOf(a: number | null, b: number | null): number | null {
  if (a === null || b === null) return a ?? b;
  return Math.min(a, b);
}

function oneMore(highest: number | null): number | null {
  return highest === null ? null : highest + 1;
}

/** "F2" only when the lowest that is shown is 2. */
export function generationInWords({ lowest, highest }: Generation): string {
  const from =
    lowest === 0 ? 'nothing is shown beyond the wild' : `at least generation ${lowest} in captivity is shown`;
  if (highest === null) return `${from}; how many more there may be is not known`;
  if (highest === 0) return 'generation 0: taken from the wild, or from a mating outside a controlled environment';
  return lowest === highest
    ? `generation ${lowest} in captivity`
    : `${from}; at most generation ${highest} is possible`;
}
