/** Parentage as claims, and the pedigree of a taxon computed from them. */
export {
  addToLineage,
  type ClaimInput,
  copyParentage,
  lockLineage,
  readAncestry,
  replaceClaim,
} from './lineage-write.store.js';
export {
  ancestryPath,
  decideParent,
  type KinFacts,
  PARENTAGE_BASES,
  type ParentageBasis,
  type ParentRole,
} from './parentage.core.js';
