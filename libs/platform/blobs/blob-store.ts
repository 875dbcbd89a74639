import { Readable } from 'node:stream';

/** Bytes that were received whole and hashed, but are not kept yet. Call `keep` or `discard`, once. */
export type ReceivedBlob = {
  /** SHA-256 of the bytes, 64 hexadecimal digits: the name under which they are kept. */
  readonly sha256: string;
  /** Number of bytes. */
  readonly size: number;
  /** The first bytes, at most 4,100: enough to tell what kind of file it is. */
  readonly head: Uint8Array;
  /** All of the bytes; only before they are kept or discarded. */
  content(): Promise<Buffer>;
  /** Keeps the bytes for good; they are on disk when it returns. Keeping the same bytes twice keeps them once. */
  keep(): Promise<void>;
  /** Forgets the bytes. */
  discard(): Promise<void>;
};

/** The stream held more bytes than allowed; nothing of it was kept. */
export class BlobTooLarge extends Error {
  constructor(readonly limit: number) {
    super(`More than ${limit} bytes.`);
  }
}

/** Keeps files by the hash of their content. Port: an implementation is bound to it in `BlobsModule`. */
export abstract class BlobStore {
  /**
   * Takes a stream to its end without holding it in memory. Throws `BlobTooLarge` once it exceeds `limit` bytes, and what
   * the stream throws when it breaks off; in both cases nothing is left behind. The stream itself is not destroyed.
   */
  abstract receive(source: Readable, limit: number): Promise<ReceivedBlob>;

  /** Keeps bytes that are in memory already. Gives their hash. */
  async put(bytes: Buffer): Promise<string> {
    const received = await this.receive(Readable.from([bytes]), bytes.length);
    try {
      await received.keep();
      return received.sha256;
    } finally {
      await received.discard();
    }
  }

  /** The bytes of a hash as a stream; null when none are kept under it. Throws RangeError for what is no hash. */
  abstract open(sha256: string): Promise<Readable | null>;

  /**
   * Removes the bytes of a hash unless they were kept at or after the moment: somebody else may just be sending the same. False where
   * there was nothing to remove. Throws RangeError for what is no hash.
   */
  abstract remove(sha256: string, notKeptSince: Date): Promise<boolean>;
}

/** The name under which the bytes of a hash are kept, whichever store: `sha256/ab/cd/<hash>`. Throws RangeError for what is no hash. */
export function blobName(sha256: string): string {
  if (!/^[0-9a-f]{64}$/.test(sha256)) throw new RangeError('Not a SHA-256 in hexadecimal.');
  return `sha256/${sha256.slice(0, 2)}/${sha256.slice(2, 4)}/${sha256}`;
}
