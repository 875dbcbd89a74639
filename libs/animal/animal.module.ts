import { Module } from '@nestjs/common';
import { BlobsModule } from '../platform/blobs/index.js';
import { UploadsModule } from '../platform/uploads/index.js';
import { MembershipModule } from '../membership/index.js';
import { TaxonModule } from '../taxon/index.js';
import { AskAboutMark } from './app/ask-about-mark.js';
import { ConfirmPhotoComparison } from './app/confirm-photo-comparison.js';
import { CorrectFact } from './app/correct-fact.js';
import { CorrectMark } from './app/correct-mark.js';
import { EndMark } from './app/end-mark.js';
import { RecordFacts } from './app/record-facts.js';
import { RecordMark } from './app/record-mark.js';
import { RecordPhotoSession } from './app/record-photo-session.js';
import { WarnOfFacts } from './app/warn-of-facts.js';
import { AddAnimalFile } from './files/add-animal-file.js';
import { AnimalFileStore } from './files/animal-file.store.js';
import { AnimalFilesController } from './files/animal-files.controller.js';
import { AnimalFilesResolver } from './files/animal-files.resolver.js';
import { WithdrawAnimalFile } from './files/withdraw-animal-file.js';
import { AnimalResolver } from './graphql/animal.resolver.js';
import { LotChangesResolver } from './graphql/lot-changes.resolver.js';
import { MarkQueryResolver } from './graphql/mark-query.resolver.js';
import {
  AnimalMarksResolver,
  MarkResolver,
  PhotoDocumentationResolver,
  RecordMarkResolver,
} from './graphql/mark.resolver.js';
import { MeasurementResolver } from './graphql/measurement.resolver.js';
import { PhotoResolver } from './graphql/photo.resolver.js';
import { RecordAsOfResolver, RecordHistoryResolver } from './graphql/record-as-of.resolver.js';
import { RecordFactResolver } from './graphql/record-fact.resolver.js';
import { AnimalReadStore } from './store/animal-read.store.js';
import { FactHistoryStore } from './store/fact-history.store.js';
import { FactPageStore } from './store/fact-page.store.js';
import { LotChangePageStore } from './store/lot-change-page.store.js';
import { MarkQueryStore } from './store/mark-query.store.js';
import { MarkReadStore } from './store/mark-read.store.js';
import { SeriesStore } from './store/series.store.js';

@Module({
  imports: [BlobsModule, MembershipModule, TaxonModule, UploadsModule],
  controllers: [AnimalFilesController],
  providers: [
    AddAnimalFile,
    AnimalFileStore,
    AnimalFilesResolver,
    AnimalMarksResolver,
    AnimalReadStore,
    AnimalResolver,
    AskAboutMark,
    ConfirmPhotoComparison,
    CorrectFact,
    CorrectMark,
    EndMark,
    FactHistoryStore,
    FactPageStore,
    LotChangePageStore,
    LotChangesResolver,
    MarkQueryResolver,
    MarkQueryStore,
    MarkReadStore,
    MarkResolver,
    MeasurementResolver,
    PhotoDocumentationResolver,
    PhotoResolver,
    RecordAsOfResolver,
    RecordFactResolver,
    RecordFacts,
    RecordHistoryResolver,
    RecordMark,
    RecordMarkResolver,
    RecordPhotoSession,
    SeriesStore,
    WarnOfFacts,
    WithdrawAnimalFile,
  ],
  exports: [AnimalFileStore, AnimalReadStore, FactHistoryStore, MarkReadStore, RecordFacts],
})
export class AnimalModule {}
