import { Module } from '@nestjs/common';
import { AnimalModule } from '../animal/index.js';
import { MergeRecords } from './app/merge-records.js';
import { RecordDeath } from './app/record-death.js';
import { RegisterStock } from './app/register-stock.js';
import { SplitLot } from './app/split-lot.js';
import { UndoMerge } from './app/undo-merge.js';
import { HolderResolver } from './graphql/holder.resolver.js';
import { MergeResolver } from './graphql/merge.resolver.js';
import { RegisterResolver } from './graphql/register.resolver.js';
import { StockBookResolver } from './graphql/stock-book.resolver.js';
import { CustodyReadStore } from './store/custody-read.store.js';

@Module({
  imports: [AnimalModule],
  providers: [
    CustodyReadStore,
    HolderResolver,
    MergeRecords,
    MergeResolver,
    RecordDeath,
    RegisterResolver,
    RegisterStock,
    SplitLot,
    StockBookResolver,
    UndoMerge,
  ],
  exports: [CustodyReadStore, RecordDeath, RegisterStock, SplitLot],
})
export class CustodyModule {}
