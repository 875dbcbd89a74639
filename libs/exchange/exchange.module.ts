import { Module } from '@nestjs/common';
import { AnimalModule } from '../animal/index.js';
import { CustodyModule } from '../custody/index.js';
import { DocumentModule } from '../document/index.js';
import { MembershipModule } from '../membership/index.js';
import { TaxonModule } from '../taxon/index.js';
import { TransferStore } from '../transfer/index.js';
import { ExportAnimals } from './app/export-animals.js';
import { ExportOwn } from './app/export-own.js';
import { ExportRecords } from './app/export-records.js';
import { ExportResolver } from './graphql/export.resolver.js';
import { PackPapers } from './pack/pack-papers.js';
import { ReadRecordPack } from './pack/read-record-pack.js';
import { RegisterFromPack } from './pack/register-from-pack.js';
import { RecordPackController } from './pack/record-pack.controller.js';
import { RecordPackStore } from './pack/record-pack.store.js';
import { ExportRecordsStore } from './store/export-records.store.js';
import { ExportStore } from './store/export.store.js';

/** What goes out to people. Loading a pedigree is a command of the operator and needs no module. */
@Module({
  imports: [AnimalModule, CustodyModule, DocumentModule, MembershipModule, TaxonModule],
  controllers: [RecordPackController],
  providers: [
    ExportAnimals,
    ExportOwn,
    ExportRecords,
    ExportRecordsStore,
    ExportResolver,
    ExportStore,
    PackPapers,
    ReadRecordPack,
    RecordPackStore,
    RegisterFromPack,
    TransferStore,
  ],
  exports: [ExportOwn],
})
export class ExchangeModule {}
