import { createReadStream } from 'node:fs';
import { readFile, rm } from 'node:fs/promises';
import { type Readable } from 'node:stream';
import {
  DeleteObjectCommand,
  GetObjectCommand,
  HeadObjectCommand,
  NoSuchKey,
  NotFound,
  PutObjectCommand,
  S3Client,
} from '@aws-sdk/client-s3';
import { type S3Config } from '../config/index.js';
import { blobName, BlobStore, type ReceivedBlob } from './blob-store.js';
import { IncomingFiles } from './incoming-files.js';

/**
 * Blobs in a bucket, under the same names as in a folder. What is being received lies in a local folder until it is whole and
 * hashed, so that nothing half-sent ever stands in the bucket.
 */
export class S3BlobStore extends BlobStore {
  private readonly client: S3Client;
  private readonly incoming: IncomingFiles;

  constructor(
    private readonly config: S3Config,
    incoming: string,
  ) {
    super();
    this.incoming = new IncomingFiles(incoming);
    const { endpoint, region, accessKeyId, secretAccessKey } = config;
    this.client = new S3Client({
      region,
      credentials: { accessKeyId, secretAccessKey },
      // Servers of one's own rarely have a host name a bucket.
      ...(endpoint === undefined ? {} : { endpoint, forcePathStyle: true }),
    });
  }

  async receive(source: Readable, limit: number): Promise<ReceivedBlob> {
    const { path, ...facts } = await this.incoming.receive(source, limit);
    return {
      ...facts,
      content: () => readFile(path),
      keep: () => this.keep(path, facts.sha256, facts.size),
      discard: () => rm(path, { force: true }),
    };
  }

  async open(sha256: string): Promise<Readable | null> {
    try {
      const found = await this.client.send(new GetObjectCommand({ Bucket: this.config.bucket, Key: blobName(sha256) }));
      return (found.Body as Readable | undefined) ?? null;
    } catch (error) {
      if (error instanceof NoSuchKey) return null;
      throw error;
    }
  }

  async remove(sha256: string, notKeptSince: Date): Promise<boolean> {
    const where = { Bucket: this.config.bucket, Key: blobName(sha256) };
    const found = await this.client.send(new HeadObjectCommand(where)).catch((error: unknown) => {
      if (error instanceof NotFound) return null;
      throw error;
    });
    // The server tells whole seconds.
    if (found?.LastModified === undefined || found.LastModified.getTime() + 1_000 > notKeptSince.getTime())
      return false;
    await this.client.send(new DeleteObjectCommand(where));
    return true;
  }

  /** The server answers once the object is stored whole; under the same name there are always the same bytes. */
  private async keep(path: string, sha256: string, size: number): Promise<void> {
    await this.client.send(
      new PutObjectCommand({
        Bucket: this.config.bucket,
        Key: blobName(sha256),
        Body: createReadStream(path),
        ContentLength: size,
        // The bucket checks that what it stores is what was hashed.
        ChecksumSHA256: Buffer.from(sha256, 'hex').toString('base64'),
      }),
    );
  }
}
