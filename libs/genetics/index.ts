/** Pedigree mathematics on plain arrays: pure, no framework. The only face of this folder. */
export { UNKNOWN, type Candidates, type Pedigree } from './pedigree.js';
export { packCandidates, type Candidate } from './candidates.js';
export { sortPedigree, type SortedPedigree } from './sort-pedigree.js';
export { inbreeding } from './inbreeding.js';
export { mendelianSamplings } from './inbreeding-uncertain.js';
export { relationshipProduct } from './relationship.js';
export { groupMean, groupSize, kinship, kinshipWithAll, meanKinship } from './kinship.js';
export { founderGenomeEquivalents, geneDiversity } from './diversity.js';
export {
  founderContributions,
  founderEquivalents,
  founderEquivalentsKnownOnly,
  type FounderContributions,
} from './founders.js';
export { effectiveAncestors } from './ancestors.js';
export { knownAncestry } from './known-ancestry.js';
