import { Module } from '@nestjs/common';
import { AnimalModule } from '../animal/index.js';
import { RecordDeath } from './app/record-death.js';
import { RegisterStock } from './app/register-stock.js';
import { SplitLot } from './app/split-lot.js';
import { HolderResolver } from './graphql/holder.resolver.js';
import { RegisterResolver } from './graphql/register.resolver.js';
import { StockBookResolver } from './graphql/stock-book.resolver.js';
import { CustodyReadStore } from './store/custody-read.store.js';

@Module({
  imports: [AnimalModule],
  providers: [
    CustodyReadStore,
    HolderResolver,
    RecordDeath,
    RegisterResolver,
    RegisterStock,
    SplitLot,
    StockBookResolver,
  ],
  exports: [CustodyReadStore, RecordDeath, RegisterStock, SplitLot],
})
export class CustodyModule {}
