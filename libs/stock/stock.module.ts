import { Module } from '@nestjs/common';
import { LineageModule } from '../lineage/index.js';
import { TaxonModule } from '../taxon/index.js';
import { RegionalStockStore } from './regional-stock.store.js';
import { ReviewRegion } from './review-region.js';
import { RegionalStockResolver, TaxonStockResolver } from './stock.resolver.js';

@Module({
  imports: [LineageModule, TaxonModule],
  providers: [RegionalStockResolver, RegionalStockStore, ReviewRegion, TaxonStockResolver],
})
export class StockModule {}
