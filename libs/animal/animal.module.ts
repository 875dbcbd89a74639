import { Module } from '@nestjs/common';
import { BlobsModule } from '../platform/blobs/index.js';
import { UploadsModule } from '../platform/uploads/index.js';
import { TaxonModule } from '../taxon/index.js';
import { RecordFact } from './app/record-fact.js';
import { AddAnimalFile } from './files/add-animal-file.js';
import { AnimalFileStore } from './files/animal-file.store.js';
import { AnimalFilesController } from './files/animal-files.controller.js';
import { AnimalFilesResolver } from './files/animal-files.resolver.js';
import { WithdrawAnimalFile } from './files/withdraw-animal-file.js';
import { AnimalResolver } from './graphql/animal.resolver.js';
import { RecordFactResolver } from './graphql/record-fact.resolver.js';
import { AnimalReadStore } from './store/animal-read.store.js';

@Module({
  imports: [BlobsModule, TaxonModule, UploadsModule],
  controllers: [AnimalFilesController],
  providers: [
    AddAnimalFile,
    AnimalFileStore,
    AnimalFilesResolver,
    AnimalReadStore,
    AnimalResolver,
    RecordFact,
    RecordFactResolver,
    WithdrawAnimalFile,
  ],
  exports: [AnimalFileStore, AnimalReadStore, RecordFact],
})
export class AnimalModule {}
