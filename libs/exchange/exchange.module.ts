import { Module } from '@nestjs/common';
import { AnimalModule } from '../animal/index.js';
import { BreedingModule } from '../breeding/index.js';
import { CustodyModule } from '../custody/index.js';
import { DocumentModule } from '../document/index.js';
import { ClaimReadStore } from '../lineage/index.js';
import { MembershipModule } from '../membership/index.js';
import { BlobsModule } from '../platform/blobs/index.js';
import { TaxonModule } from '../taxon/index.js';
import { TransferStore } from '../transfer/index.js';
import { ExportAnimals } from './app/export-animals.js';
import { ExportDealings } from './app/export-dealings.js';
import { ExportOwn } from './app/export-own.js';
import { ExportPerson } from './app/export-person.js';
import { ExportRecords } from './app/export-records.js';
import { ForgetMe } from './forget/forget-me.js';
import { ForgetResolver } from './forget/forget.resolver.js';
import { ForgetStore } from './forget/forget.store.js';
import { ExportResolver } from './graphql/export.resolver.js';
import { ExportDealingsStore } from './store/export-dealings.store.js';
import { ExportPersonStore } from './store/export-person.store.js';
import { PackArchive } from './pack/pack-archive.js';
import { PackSources } from './pack/pack-sources.js';
import { ReadRecordPack } from './pack/read-record-pack.js';
import { RecordPackController } from './pack/record-pack.controller.js';
import { RecordPackStore } from './pack/record-pack.store.js';
import { ExportRecordsStore } from './store/export-records.store.js';
import { ExportStore } from './store/export.store.js';

/** What goes out to people. Loading a pedigree is a command of the operator and needs no module. */
@Module({
  imports: [AnimalModule, BlobsModule, BreedingModule, CustodyModule, DocumentModule, MembershipModule, TaxonModule],
  controllers: [RecordPackController],
  providers: [
    ClaimReadStore,
    ExportAnimals,
    ExportDealings,
    ExportDealingsStore,
    ExportOwn,
    ExportPerson,
    ExportPersonStore,
    ExportRecords,
    ExportRecordsStore,
    ExportResolver,
    ExportStore,
    ForgetMe,
    ForgetResolver,
    ForgetStore,
    PackArchive,
    PackSources,
    ReadRecordPack,
    RecordPackStore,
    TransferStore,
  ],
  exports: [ExportOwn],
})
export class ExchangeModule {}
