import { createHash, randomUUID } from 'node:crypto';
import { type FileHandle, mkdir, open, readdir, rm, stat } from 'node:fs/promises';
import { join } from 'node:path';
import { type Readable } from 'node:stream';
import { BlobTooLarge } from './blob-store.js';

/** Bytes kept aside for telling the kind of file. */
const HEAD = 4_100;
/** What lies about longer than this was left by a process that was killed: no upload takes that long. */
const STALE_AFTER_MS = 24 * 60 * 60 * 1000;

/** A file that arrived whole and waits to be kept or forgotten. */
export type IncomingFile = {
  readonly path: string;
  readonly sha256: string;
  readonly size: number;
  readonly head: Uint8Array;
};

/** The folder in which files lie while they are being received, whichever store keeps them afterwards. */
export class IncomingFiles {
  private swept: Promise<void> | undefined;

  constructor(private readonly folder: string) {}

  /** As `BlobStore.receive`: the bytes are on disk when it returns, under a name of their own. */
  async receive(source: Readable, limit: number): Promise<IncomingFile> {
    await (this.swept ??= this.sweep());
    const path = join(this.folder, randomUUID());
    try {
      const file = await open(path, 'wx', 0o600);
      try {
        return { path, ...(await writeAll(file, source, limit)) };
      } finally {
        await file.close();
      }
    } catch (error) {
      await rm(path, { force: true });
      throw error;
    }
  }

  /** Once a process: makes the folder and removes what killed processes left in it. */
  private async sweep(): Promise<void> {
    await mkdir(this.folder, { recursive: true });
    for (const name of await readdir(this.folder)) {
      const path = join(this.folder, name);
      // Another process may be sweeping too: what is gone already is nothing to do.
      const age = await stat(path)
        .then(({ mtimeMs }) => Date.now() - mtimeMs)
        .catch(() => 0);
      if (age > STALE_AFTER_MS) await rm(path, { force: true });
    }
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
