import { join } from 'node:path';
import { Module } from '@nestjs/common';
import { CONFIG, type Config } from '../config/index.js';
import { BlobStore } from './blob-store.js';
import { LocalBlobStore } from './local-blob-store.js';

/** The blob store: a folder below DATA_DIR. */
@Module({
  providers: [
    {
      provide: BlobStore,
      useFactory: (config: Config) => new LocalBlobStore(join(config.dataDir, 'blobs')),
      inject: [CONFIG],
    },
  ],
  exports: [BlobStore],
})
export class BlobsModule {}
