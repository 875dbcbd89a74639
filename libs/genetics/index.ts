/** Pedigree mathematics on plain arrays: pure, no framework. The only face of this folder. */
export { UNKNOWN, type Candidates, type Pedigree } from './pedigree/pedigree.js';
export { packCandidates, type Candidate } from './pedigree/candidates.js';
export { sortPedigree, type SortedPedigree } from './pedigree/sort-pedigree.js';
export { inbreeding, shareInbreeding } from './inbreeding/inbreeding.js';
export { inbreedingPart, type InbreedingWork } from './inbreeding/inbreeding-in-blocks.js';
export { mendelianSamplings } from './inbreeding/inbreeding-uncertain.js';
export { relationshipProduct } from './kinship/relationship.js';
export { groupMean, groupSize, kinship, kinshipWithAll, meanKinship } from './kinship/kinship.js';
export { pairKinship, type PairKinship } from './kinship/pair-kinship.js';
export { kinshipBlock, kinshipMatrix } from './kinship/kinship-matrix.js';
export { generationEquivalents, longestPaths } from './pedigree/generations.js';
export { ancestralInbreeding } from './inbreeding/ancestral-inbreeding.js';
export { founderShares, partialInbreeding, type FounderSource } from './inbreeding/partial-inbreeding.js';
export {
  effectiveSize,
  inbreedingIncrease,
  sexRatioEffectiveSize,
  type EffectiveSize,
} from './population/effective-size.js';
export { lifeTable, type LifeTable } from './population/life-table.js';
export { seededRandom, type Random } from './population/random.js';
export { dropGenes, geneDrop, type DropMean, type GeneDrop } from './population/gene-drop.js';
export {
  diversityAfterBirth,
  diversityAfterDeath,
  diversityAfterOffspring,
  diversityState,
  type DiversityState,
  type Pair,
} from './population/diversity-change.js';
export { founderGenomeEquivalents, geneDiversity } from './population/diversity.js';
export {
  founderContributions,
  founderEquivalents,
  founderEquivalentsKnownOnly,
  type FounderContributions,
} from './population/founders.js';
export { effectiveAncestors } from './population/ancestors.js';
export { knownAncestry } from './pedigree/known-ancestry.js';
export { kinshipTies, type KinshipTies } from './ties/kinship-ties.js';
export type { KinshipTie, SharedAncestor, Through } from './ties/gather-ties.js';
export { relationshipWords, type RelationshipWords, type SexesTold } from './ties/relationship-words.js';
export { optimalPairing, type Pairing, type PairingProblem } from './planning/optimal-pairing.js';
export { pairingCost, type PairingCostInput } from './planning/pairing-cost.js';
export {
  optimumContributions,
  type ContributionProblem,
  type OptimumContributions,
} from './planning/optimum-contributions.js';
