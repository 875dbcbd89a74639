import { Module } from '@nestjs/common';
import { AnimalModule } from '../animal/index.js';
import { BlobsModule } from '../platform/blobs/index.js';
import { UploadsModule } from '../platform/uploads/index.js';
import { TaxonModule } from '../taxon/index.js';
import { AddFile } from './app/add-file.js';
import { RecordDocument } from './app/record-document.js';
import { SupersedeDocument } from './app/supersede-document.js';
import { AnimalDocumentsResolver } from './graphql/animal-documents.resolver.js';
import { DocumentCoverResolver, DocumentResolver } from './graphql/document.resolver.js';
import { DocumentFilesController } from './rest/document-files.controller.js';
import { DocumentReadStore } from './store/document-read.store.js';

/** Holding documents and their files. Job handlers are in `DocumentJobsModule`. */
@Module({
  imports: [AnimalModule, BlobsModule, TaxonModule, UploadsModule],
  controllers: [DocumentFilesController],
  providers: [
    AddFile,
    AnimalDocumentsResolver,
    DocumentCoverResolver,
    DocumentReadStore,
    DocumentResolver,
    RecordDocument,
    SupersedeDocument,
  ],
  exports: [AddFile, DocumentReadStore, RecordDocument, SupersedeDocument],
})
export class DocumentModule {}
