/** Stock records (individuals and lots), their facts and marks. Custody, ownership and lineage build on them. */
export { AnimalModule } from './animal.module.js';
export { type RecordFactCommand, RecordFacts } from './app/record-facts.js';
export { decideFactDay } from './core/fact-day.core.js';
export { type FactVersion } from './core/correction.core.js';
export { type AnimalRecord, type AnimalView, birthYearOf } from './core/animal-view.core.js';
export * from './core/fact.core.js';
export { fateBefore, type FateVersion } from './core/correction.core.js';
export { decideFate, FATE_CHANGES, type FateChange, fateAfter } from './core/fate-transitions.core.js';
export { decideJoin, decideLoss, decideSplit, LOT_LOSSES, type LotFacts, type LotLoss } from './core/lot.core.js';
export {
  decideLotCorrection,
  firstVersion,
  type LotChangeVersion,
  type LotCorrection,
} from './core/lot-correction.core.js';
export {
  checkDetails,
  checkMark,
  currentMarks,
  type Mark,
  MARK_KINDS,
  type MarkCheck,
  type MarkKind,
  marksInForce,
  type Warning,
} from './core/mark.core.js';
export { FACT_BODIES, parseFactBody } from './fact-body.js';
export {
  AcquisitionMannerType,
  AnimalKindType,
  BirthMannerType,
  CertaintyType,
  FateType,
  MarkKindType,
  OriginClassType,
  SexType,
} from './graphql/animal.enums.js';
export { loadAnimal, loadMarks } from './graphql/animal.loaders.js';
export { AnimalConnection, AnimalType, toAnimalType, WarningType } from './graphql/animal.types.js';
export { markInput, MarkInput } from './graphql/mark.inputs.js';
export { type Authority, findOwner, requireAuthorities, requireAuthority } from './store/animal-authority.store.js';
export { AnimalFileStore, type AnimalFileView } from './files/animal-file.store.js';
export { AnimalJobsModule } from './jobs/animal-jobs.module.js';
export { CheckPhotosDueHandler } from './jobs/check-photos-due.handler.js';
export { checkPhotosDue, requestPhotosCheck } from './jobs/check-photos-due.job.js';
export { recheckOrigin, requestOriginRecheck } from './jobs/origin-recheck.job.js';
export { TellMarkConflictHandler } from './jobs/tell-mark-conflict.handler.js';
export { tellMarkConflict } from './jobs/tell-mark-conflict.job.js';
export { AnimalReadStore } from './store/animal-read.store.js';
export { FactHistoryStore, insertInPlaceOf, readVersions } from './store/fact-history.store.js';
export {
  applyProjection,
  type FactInput,
  getForWrite,
  getNamed,
  lockAnimals,
  type NewAnimal,
  recordFact,
  refuseMerged,
  type StockRecord,
} from './store/animal-write.store.js';
export { requireChipTries } from './store/chip-tries.store.js';
export { reviewMarkConflicts } from './store/mark-conflict.store.js';
export { MarkReadStore } from './store/mark-read.store.js';
export { type StoredSession } from './store/photo.store.js';
export { conflictWarnings } from './graphql/mark.payload.js';
export { insertAnimal, insertAnimals } from './store/insert-animals.store.js';
export {
  changeLotRecord,
  joinLotRecords,
  raiseRecords,
  type LotRevision,
  type RaisedAnimal,
} from './store/lot-change.store.js';
export { findLotChange, readLotChanges, reviseLotChanges } from './store/lot-correction.store.js';
export { loseFromLotRecord, recordDeathFact, splitLotRecord } from './store/lot-write.store.js';
export { uncertainDay } from './uncertain-day.schema.js';
