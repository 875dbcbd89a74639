/** Parentage as claims, and the pedigree of a taxon computed from them. */
export { ClaimReadStore, type FullClaim } from './claims/claim-read.store.js';
export { candidatesShown, claimsShown } from './claims/claims-shown.core.js';
export { LineageModule } from './lineage.module.js';
export { joinParentage } from './claims/joined-parentage.store.js';
export {
  addAllToLineage,
  addToLineage,
  type ClaimInput,
  copyParentage,
  lockLineage,
  readAncestry,
  replaceClaim,
} from './claims/lineage-write.store.js';
export { ClaimWarningType, ParentCandidateInput } from './claims/claim.types.js';
export { decideMerge, type MergeKinship, type MergeSide } from './merges/merge.core.js';
export {
  findMergeInForce,
  insertMerge,
  moveMergedOn,
  readMergeKinship,
  readMergeSide,
  undoMergeRow,
} from './merges/merge.store.js';
export { toReferencePopulation } from './questions/kinship.resolver.js';
export { ReferencePopulationType } from './questions/kinship.types.js';
export { ParentageBasisType } from './questions/lineage.types.js';
export { RelateAnimals, type Related } from './questions/relate-animals.js';
export { deleteOldLivingChanges } from './pedigree/living-changes.store.js';
export { LivePedigree } from './pedigree/live-pedigree.js';
export { type Living, LivingPopulation } from './pedigree/living-population.js';
export { PastLineage } from './pedigree/past-lineage.js';
export {
  ancestryPath,
  decideParent,
  type KinFacts,
  PARENTAGE_BASES,
  type ParentageBasis,
  type ParentRole,
} from './claims/parentage.core.js';
export { type AncestorPlace, ancestorPlaces, type PedigreeSnapshot } from './pedigree/pedigree-snapshot.core.js';
export {
  type Candidate,
  type ClaimWarning,
  decideTwoParents,
  type ParentBiology,
  type ParentFacts,
  type ParentStatement,
} from './claims/claim.core.js';
export { basisInput, candidatesInput, claimWarning } from './claims/claim.schema.js';
export { decideStatement, getVisibleParent } from './claims/decide-parents.js';
