import { createHash, randomUUID } from 'node:crypto';
import { type FileHandle, mkdir, open, rename, rm } from 'node:fs/promises';
import { dirname, join } from 'node:path';
import { type Readable } from 'node:stream';
import { BlobStore, BlobTooLarge, type ReceivedBlob } from './blob-store.js';

/** Bytes kept aside for telling the kind of file. */
const HEAD = 4_100;

/** Blobs in a folder: `sha256/ab/cd/<hash>`, and `incoming/` for what is still being received. */
export class LocalBlobStore extends BlobStore {
  constructor(private readonly folder: string) {
    super();
  }

  async receive(source: Readable, limit: number): Promise<ReceivedBlob> {
    const incoming = join(this.folder, 'incoming');
    await mkdir(incoming, { recursive: true });
    const temporary = join(incoming, randomUUID());
    const discard = () => rm(temporary, { force: true });
    try {
      const file = await open(temporary, 'wx', 0o600);
      try {
        const facts = await writeAll(file, source, limit);
        return { ...facts, keep: () => this.keep(temporary, facts.sha256), discard };
      } finally {
        await file.close();
      }
    } catch (error) {
      await discard();
      throw error;
    }
  }

  async open(sha256: string): Promise<Readable | null> {
    try {
      return (await open(this.pathOf(sha256), 'r')).createReadStream();
    } catch (error) {
      if ((error as NodeJS.ErrnoException).code === 'ENOENT') return null;
      throw error;
    }
  }

  /** The rename is atomic, so that a reader sees the whole file or none; under the same name there are always the same bytes. */
  private async keep(temporary: string, sha256: string): Promise<void> {
    const path = this.pathOf(sha256);
    await mkdir(dirname(path), { recursive: true });
    await rename(temporary, path);
    // A rename, and a new folder, last through a power cut once the folder around it is written.
    for (let around = dirname(path), depth = 0; depth < 4; around = dirname(around), depth += 1)
      await syncFolder(around);
  }

  private pathOf(sha256: string): string {
    if (!/^[0-9a-f]{64}$/.test(sha256)) throw new RangeError('Not a SHA-256 in hexadecimal.');
    return join(this.folder, 'sha256', sha256.slice(0, 2), sha256.slice(2, 4), sha256);
  }
}

async function writeAll(
  file: FileHandle,
  source: Readable,
  limit: number,
): Promise<{ sha256: string; size: number; head: Uint8Array }> {
  const hash = createHash('sha256');
  const head: Buffer[] = [];
  let size = 0;
  // The source may be a request whose sender is still to be answered: leaving early must not cut the connection.
  for await (const part of source.iterator({ destroyOnReturn: false })) {
    const bytes = part as Buffer;
    if (size + bytes.length > limit) throw new BlobTooLarge(limit);
    if (size < HEAD) head.push(bytes.subarray(0, HEAD - size));
    hash.update(bytes);
    await file.writeFile(bytes);
    size += bytes.length;
  }
  await file.sync();
  return { sha256: hash.digest('hex'), size, head: Buffer.concat(head) };
}

async function syncFolder(path: string): Promise<void> {
  const folder = await open(path, 'r');
  try {
    await folder.sync();
  } finally {
    await folder.close();
  }
}
