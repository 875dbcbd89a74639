import { mkdir, open, readFile, rename, rm, stat, utimes } from 'node:fs/promises';
import { dirname, join } from 'node:path';
import { type Readable } from 'node:stream';
import { blobName, BlobStore, type ReceivedBlob } from './blob-store.js';
import { IncomingFiles } from './incoming-files.js';

/** Blobs in a folder: `sha256/ab/cd/<hash>`, and `incoming/` for what is still being received. */
export class LocalBlobStore extends BlobStore {
  private readonly incoming: IncomingFiles;

  constructor(private readonly folder: string) {
    super();
    this.incoming = new IncomingFiles(join(folder, 'incoming'));
  }

  async receive(source: Readable, limit: number): Promise<ReceivedBlob> {
    const { path, ...facts } = await this.incoming.receive(source, limit);
    return {
      ...facts,
      content: () => readFile(path),
      keep: () => this.keep(path, facts.sha256),
      discard: () => rm(path, { force: true }),
    };
  }

  async open(sha256: string): Promise<Readable | null> {
    try {
      return (await open(this.pathOf(sha256), 'r')).createReadStream();
    } catch (error) {
      if ((error as NodeJS.ErrnoException).code === 'ENOENT') return null;
      throw error;
    }
  }

  async remove(sha256: string, notKeptSince: Date): Promise<boolean> {
    const path = this.pathOf(sha256);
    const found = await stat(path).catch(() => null);
    if (found === null || found.mtime >= notKeptSince) return false;
    await rm(path, { force: true });
    return true;
  }

  /** The rename is atomic, so that a reader sees the whole file or none; under the same name there are always the same bytes. */
  private async keep(temporary: string, sha256: string): Promise<void> {
    const path = this.pathOf(sha256);
    await mkdir(dirname(path), { recursive: true });
    // The moment of keeping, not of receiving: `remove` goes by it.
    const now = new Date();
    await utimes(temporary, now, now);
    await rename(temporary, path);
    // A rename, and a new folder, last through a power cut once the folder around it is written.
    for (let around = dirname(path), depth = 0; depth < 4; around = dirname(around), depth += 1)
      await syncFolder(around);
  }

  private pathOf(sha256: string): string {
    return join(this.folder, ...blobName(sha256).split('/'));
  }
}

async function syncFolder(path: string): Promise<void> {
  const folder = await open(path, 'r');
  try {
    await folder.sync();
  } finally {
    await folder.close();
  }
}
