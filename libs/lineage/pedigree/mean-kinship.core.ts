import { groupMean, meanKinship, type Pedigree } from '../../genetics/index.js';
import { sharedCopy } from './shared-memory.core.js';

/** How the animals of a pedigree are related to a group of them. */
export type GroupKinship = {
  readonly size: number;
  /** Mean kinship of each animal with the group; all zero when it is empty. */
  readonly meanKinship: Float64Array;
  /** Average of the mean kinships of the members, or null when there are none. */
  readonly populationMeanKinship: number | null;
};

/** Mean kinship of all animals with a group (one flag an animal). Two passes over the pedigree. */
export function meanKinshipOf(input: {
  readonly pedigree: Pedigree;
  readonly inbreeding: Float64Array;
  readonly sampling: Float64Array | undefined;
  readonly group: Uint8Array;
}): GroupKinship {
  const { pedigree, inbreeding, sampling, group } = input;
  let size = 0;
  for (let i = 0; i < group.length; i++) size += group[i] as number;
  if (size === 0) return { size, meanKinship: new Float64Array(group.length), populationMeanKinship: null };
  const kinships = sharedCopy(meanKinship(pedigree, inbreeding, group, sampling));
  return { size, meanKinship: kinships, populationMeanKinship: groupMean(kinships, group) };
}
