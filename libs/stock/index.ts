/** What a region holds, and whether it is healthy: for coordinators, of keepers who show their holdings to them. */
export { type StockCount, stockCount, type StockRecord, writeSexes } from './regional-stock.core.js';
export { type GeneticState, type RegionalStock, ReviewRegion } from './review-region.js';
export { type Selection } from './regional-stock.store.js';
export { StockModule } from './stock.module.js';
