import {
  diversityAfterBirth,
  type DiversityState,
  geneDiversity,
  kinshipWithAll,
  UNKNOWN,
} from '../../genetics/index.js';
import { type Living } from '../../lineage/index.js';
import { type MateNumbers } from '../core/search-mates.core.js';

/** The living as the changes of their gene diversity need them; null where nobody lives. */
export function diversityOf({
  snapshot,
  group,
  size,
  meanKinship,
  populationMeanKinship,
}: Living): DiversityState | null {
  if (populationMeanKinship === null) return null;
  return { group, size, inbreeding: snapshot.inbreeding, meanKinship, populationMeanKinship };
}

/** The numbers of the living of a taxon as a search for mates of one animal takes them. One relationship product. */
export function mateNumbers(living: Living, animalId: string): MateNumbers {
  const { snapshot, meanKinship, size } = living;
  const own = snapshot.indexOf.get(animalId);
  if (own === undefined) throw new Error('A registered animal is missing from its pedigree.');
  const { pedigree, inbreeding, knownAncestry, sampling } = snapshot;
  const uncertain = [pedigree.sireCandidates, pedigree.damCandidates];
  const kinship = kinshipWithAll(pedigree, inbreeding, own, sampling);
  const state = diversityOf(living);
  const before = geneDiversity(living.populationMeanKinship ?? 0);
  return {
    indexOf: (id) => snapshot.indexOf.get(id),
    numbering: snapshot.numbering,
    kinship,
    meanKinship,
    knownAncestry,
    ownKnownAncestry: knownAncestry[own] ?? 0,
    parentless: (index) =>
      (pedigree.sire[index] ?? UNKNOWN) === UNKNOWN &&
      (pedigree.dam[index] ?? UNKNOWN) === UNKNOWN &&
      uncertain.every((all) => all === undefined || all.start[index] === all.start[index + 1]),
    // Which of the two is the dam makes no difference.
    geneDiversityChange: (index) =>
      state === null
        ? 0
        : diversityAfterBirth(state, { sire: index, dam: own, kinship: kinship[index] as number }) - before,
    populationSize: size,
  };
}
