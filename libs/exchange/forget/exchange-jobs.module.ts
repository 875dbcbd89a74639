import { Module } from '@nestjs/common';
import { BlobsModule } from '../../platform/blobs/index.js';
import { RemoveFilesHandler } from './remove-files.handler.js';

/** The exchange context's job handlers, for the worker. */
@Module({ imports: [BlobsModule], providers: [RemoveFilesHandler], exports: [RemoveFilesHandler] })
export class ExchangeJobsModule {}
