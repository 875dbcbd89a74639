import { Module } from '@nestjs/common';
import { AnimalModule } from '../animal/index.js';
import { MembershipModule } from '../membership/index.js';
import { MergeRecords } from './app/merge-records.js';
import { GrantReading } from './app/grant-reading.js';
import { ManageCollections } from './app/manage-collections.js';
import { SetPartSharing } from './app/set-part-sharing.js';
import { WhoCouldSeeAnimal } from './app/who-could-see-animal.js';
import { ChangeLot } from './app/change-lot.js';
import { CorrectFate } from './app/correct-fate.js';
import { CorrectLotChange } from './app/correct-lot-change.js';
import { JoinLots } from './app/join-lots.js';
import { RaiseFromLot } from './app/raise-from-lot.js';
import { RecordDeath } from './app/record-death.js';
import { RecordFate } from './app/record-fate.js';
import { RegisterStock } from './app/register-stock.js';
import { ReplyToTheft } from './app/reply-to-theft.js';
import { SplitLot } from './app/split-lot.js';
import { UndoMerge } from './app/undo-merge.js';
import { FateResolver } from './graphql/fate.resolver.js';
import { HolderResolver } from './graphql/holder.resolver.js';
import { AnimalGuestsResolver, ReadingResolver } from './graphql/reading.resolver.js';
import { AnimalSharingResolver, CollectionResolver } from './graphql/sharing.resolver.js';
import { LotResolver } from './graphql/lot.resolver.js';
import { MergeResolver } from './graphql/merge.resolver.js';
import { RegisterResolver } from './graphql/register.resolver.js';
import { StockBookResolver } from './graphql/stock-book.resolver.js';
import { TheftResolver } from './graphql/theft.resolver.js';
import { CustodyReadStore } from './store/custody-read.store.js';
import { SharingReadStore } from './store/sharing-read.store.js';
import { TheftReportStore } from './store/theft-report.store.js';

@Module({
  imports: [AnimalModule, MembershipModule],
  providers: [
    AnimalGuestsResolver,
    AnimalSharingResolver,
    ChangeLot,
    CollectionResolver,
    CorrectFate,
    CorrectLotChange,
    CustodyReadStore,
    FateResolver,
    GrantReading,
    HolderResolver,
    JoinLots,
    LotResolver,
    ManageCollections,
    MergeRecords,
    MergeResolver,
    RaiseFromLot,
    ReadingResolver,
    RecordDeath,
    RecordFate,
    RegisterResolver,
    RegisterStock,
    ReplyToTheft,
    SetPartSharing,
    SharingReadStore,
    SplitLot,
    StockBookResolver,
    TheftReportStore,
    TheftResolver,
    UndoMerge,
    WhoCouldSeeAnimal,
  ],
  exports: [TheftReportStore, CustodyReadStore, RecordDeath, RegisterStock, SplitLot],
})
export class CustodyModule {}
