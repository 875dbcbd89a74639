/** Parentage as claims, and the pedigree of a taxon computed from them. */
export { LineageModule } from './lineage.module.js';
export { joinParentage } from './joined-parentage.store.js';
export {
  addAllToLineage,
  addToLineage,
  type ClaimInput,
  copyParentage,
  lockLineage,
  readAncestry,
  replaceClaim,
} from './lineage-write.store.js';
export { ClaimWarningType, ParentCandidateInput } from './claim.types.js';
export { decideMerge, type MergeKinship, type MergeSide } from './merge.core.js';
export {
  findMergeInForce,
  insertMerge,
  moveMergedOn,
  readMergeKinship,
  readMergeSide,
  undoMergeRow,
} from './merge.store.js';
export { toReferencePopulation } from './kinship.resolver.js';
export { ReferencePopulationType } from './kinship.types.js';
export { ParentageBasisType } from './lineage.types.js';
export { RelateAnimals, type Related } from './relate-animals.js';
export { LivePedigree } from './live-pedigree.js';
export { type Living, LivingPopulation } from './living-population.js';
export { PastLineage } from './past-lineage.js';
export {
  ancestryPath,
  decideParent,
  type KinFacts,
  PARENTAGE_BASES,
  type ParentageBasis,
  type ParentRole,
} from './parentage.core.js';
export { type AncestorPlace, ancestorPlaces, type PedigreeSnapshot } from './pedigree-snapshot.core.js';
export {
  type Candidate,
  type ClaimWarning,
  decideTwoParents,
  type ParentBiology,
  type ParentFacts,
  type ParentStatement,
} from './claim.core.js';
export { basisInput, candidatesInput, claimWarning } from './claim.schema.js';
export { decideStatement, getVisibleParent } from './decide-parents.js';
