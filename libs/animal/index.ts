/** Stock records (individuals and lots), their facts and marks. Custody, ownership and lineage build on them. */
export * from './core/fact.core.js';
export { decideLoss, decideSplit, type LotFacts } from './core/lot.core.js';
export { checkMark, MARK_KINDS, type MarkCheck, type MarkKind, type Warning } from './core/mark.core.js';
export {
  applyProjection,
  type FactInput,
  getForWrite,
  insertAnimal,
  lockAnimals,
  type NewAnimal,
  recordFact,
  type StockRecord,
} from './store/animal-write.store.js';
export { loseFromLotRecord, recordDeathFact, splitLotRecord } from './store/lot-write.store.js';
