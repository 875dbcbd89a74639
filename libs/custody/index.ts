/** Who has and who owns each animal on each day, the stock book, and every write that must keep them in step with the record. */
export { GrantReading } from './app/grant-reading.js';
export { ManageCollections } from './app/manage-collections.js';
export { MergeRecords, type MergeRecordsCommand } from './app/merge-records.js';
export { RecordDeath, type RecordDeathCommand } from './app/record-death.js';
export { RegisterStock, type RegisterStockCommand } from './app/register-stock.js';
export { SetPartSharing } from './app/set-part-sharing.js';
export { SplitLot, type SplitLotCommand } from './app/split-lot.js';
export { UndoMerge, type UndoMergeCommand } from './app/undo-merge.js';
export {
  type Arrival,
  ARRIVALS,
  type Departure,
  DEPARTURES,
  type Holder,
  type OwnerShare,
  sameHolder,
} from './core/holder.core.js';
export { type BookAnimal, type BookEntry, type StockBook, stockBook, total } from './core/stock-book.core.js';
export { CustodyModule } from './custody.module.js';
export { AnimalShareType } from './graphql/custody.types.js';
export { CustodyJobsModule } from './jobs/custody-jobs.module.js';
export { TellTheftHandler } from './jobs/tell-theft.handler.js';
export { tellTheft } from './jobs/tell-theft.job.js';
export { recordGone } from './store/fate-write.store.js';
export { TheftReportStore } from './store/theft-report.store.js';
export { begin, currentCustody, end, handOver, type OpenCustody } from './store/custody-write.store.js';
export { followMerges, type Merging, type Unmerging } from './store/merge-followers.js';
export { followLots, type LotFollower } from './store/lot-followers.js';
export { joinLots, raiseFromLot } from './store/lot-change.store.js';
export { CustodyReadStore } from './store/custody-read.store.js';
export { changeOwners, currentOwners, setOwners } from './store/ownership-write.store.js';
export { registerAllStock, type StockToRegister } from './store/register-all-stock.store.js';
export { loseFromLot, type NewStock, recordDeath, registerStock, splitLot } from './store/stock-write.store.js';
export { animalsOfOutsideParty, reassign } from './store/take-up.store.js';
