/** Who has and who owns each animal on each day, the stock book, and every write that must keep them in step with the record. */
export {
  type Arrival,
  ARRIVALS,
  type Departure,
  DEPARTURES,
  type Holder,
  type OwnerShare,
  sameHolder,
} from './core/holder.core.js';
export { begin, currentCustody, end, handOver, type OpenCustody } from './store/custody-write.store.js';
export { currentOwners, setOwners } from './store/ownership-write.store.js';
export { loseFromLot, type NewStock, recordDeath, registerStock, splitLot } from './store/stock-write.store.js';
export { animalsOfOutsideParty, reassign } from './store/take-up.store.js';
