/** Pedigree mathematics on plain arrays: pure, no framework. The only face of this folder. */
export { UNKNOWN, type Candidates, type Pedigree } from './pedigree.js';
export { packCandidates, type Candidate } from './candidates.js';
export { sortPedigree, type SortedPedigree } from './sort-pedigree.js';
export { inbreeding, shareInbreeding } from './inbreeding.js';
export { inbreedingPart, type InbreedingWork } from './inbreeding-in-blocks.js';
export { mendelianSamplings } from './inbreeding-uncertain.js';
export { relationshipProduct } from './relationship.js';
export { groupMean, groupSize, kinship, kinshipWithAll, meanKinship } from './kinship.js';
export { pairKinship, type PairKinship } from './pair-kinship.js';
export { kinshipBlock, kinshipMatrix } from './kinship-matrix.js';
export { generationEquivalents, longestPaths } from './generations.js';
export { ancestralInbreeding } from './ancestral-inbreeding.js';
export { founderShares, partialInbreeding, type FounderSource } from './partial-inbreeding.js';
export { effectiveSize, inbreedingIncrease, sexRatioEffectiveSize, type EffectiveSize } from './effective-size.js';
export { lifeTable, type LifeTable } from './life-table.js';
export { seededRandom, type Random } from './random.js';
export { dropGenes, geneDrop, type DropMean, type GeneDrop } from './gene-drop.js';
export {
  diversityAfterBirth,
  diversityAfterDeath,
  diversityAfterOffspring,
  diversityState,
  type DiversityState,
  type Pair,
} from './diversity-change.js';
export { founderGenomeEquivalents, geneDiversity } from './diversity.js';
export {
  founderContributions,
  founderEquivalents,
  founderEquivalentsKnownOnly,
  type FounderContributions,
} from './founders.js';
export { effectiveAncestors } from './ancestors.js';
export { knownAncestry } from './known-ancestry.js';
export { kinshipTies, type KinshipTies } from './kinship-ties.js';
export type { KinshipTie, SharedAncestor, Through } from './gather-ties.js';
export { relationshipWords, type RelationshipWords, type SexesTold } from './relationship-words.js';
