import { Injectable } from '@nestjs/common';
import { type z } from 'zod';
import { BlobStore } from '../../platform/blobs/index.js';
import { type JobHandler } from '../../platform/jobs/index.js';
import { type Tx } from '../../platform/prisma/index.js';
import { findReferred } from './file-reference.store.js';
import { removeFiles } from './remove-files.job.js';

type Payload = z.infer<typeof removeFiles.payload>;

/** Removes bytes nobody refers to. Removing them twice, or finding them gone, is the same as once. */
@Injectable()
export class RemoveFilesHandler implements JobHandler<Payload> {
  readonly job = removeFiles;

  constructor(private readonly blobs: BlobStore) {}

  async handle(tx: Tx, { hashes, notKeptSince }: Payload): Promise<void> {
    const referred = await findReferred(tx, hashes);
    for (const sha256 of hashes) if (!referred.has(sha256)) await this.blobs.remove(sha256, new Date(notKeptSince));
  }
}
