import { join } from 'node:path';
import { Module } from '@nestjs/common';
import { CONFIG, type Config } from '../config/index.js';
import { BlobStore } from './blob-store.js';
import { LocalBlobStore } from './local-blob-store.js';

/** The blob store: a bucket where one is configured, else a folder below DATA_DIR. */
@Module({
  providers: [
    {
      provide: BlobStore,
      useFactory: async ({ dataDir, s3 }: Config): Promise<BlobStore> => {
        if (s3 === undefined) return new LocalBlobStore(join(dataDir, 'blobs'));
        // Only where there is a bucket: loading its client takes longer than everything else here.
        const { S3BlobStore } = await import('./s3-blob-store.js');
        return new S3BlobStore(s3, join(dataDir, 'blobs', 'incoming'));
      },
      inject: [CONFIG],
    },
  ],
  exports: [BlobStore],
})
export class BlobsModule {}
