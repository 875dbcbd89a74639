import { createHash } from 'node:crypto';
import { mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { Readable } from 'node:stream';
import { buffer } from 'node:stream/consumers';
import { afterEach, beforeEach, describe, expect, it } from '@jest/globals';
import { BlobTooLarge } from './blob-store.js';
import { LocalBlobStore } from './local-blob-store.js';

let folder: string;
let blobs: LocalBlobStore;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'kithbook-blobs-'));
  blobs = new LocalBlobStore(folder);
});
afterEach(() => rmSync(folder, { recursive: true }));

const files = () => readdirSync(folder, { recursive: true, withFileTypes: true }).filter((entry) => entry.isFile());
const streamOf = (...parts: string[]) => Readable.from(parts.map((part) => Buffer.from(part)));

/** SHA-256 of "abc": FIPS 180-2, appendix B.1. */
const ABC = 'ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad';

describe('LocalBlobStore', () => {
  it('keeps bytes under their SHA-256 and gives them back', async () => {
    const received = await blobs.receive(streamOf('a', 'bc'), 3);
    expect(received).toMatchObject({ sha256: ABC, size: 3 });
    expect(Buffer.from(received.head).toString()).toBe('abc');
    await received.keep();
    expect(readFileSync(join(folder, 'sha256', 'ba', '78', ABC), 'utf8')).toBe('abc');
    const stream = await blobs.open(ABC);
    expect(stream && (await buffer(stream)).toString()).toBe('abc');
  });

  it('removes bytes unless they were kept again since', async () => {
    await (await blobs.receive(streamOf('abc'), 3)).keep();
    expect(await blobs.remove(ABC, new Date(Date.now() - 60_000))).toBe(false);
    expect(files()).toHaveLength(1);
    expect(await blobs.remove(ABC, new Date(Date.now() + 60_000))).toBe(true);
    expect(files()).toEqual([]);
    expect(await blobs.remove(ABC, new Date(Date.now() + 60_000))).toBe(false);
    await expect(blobs.remove('../../etc/passwd', new Date())).rejects.toThrow(RangeError);
  });

  it('keeps the same bytes once', async () => {
    for (let times = 0; times < 2; times += 1) await (await blobs.receive(streamOf('abc'), 10)).keep();
    expect(files().map(({ name }) => name)).toEqual([ABC]);
  });

  it('leaves nothing of what is discarded, too large or broken off', async () => {
    await (await blobs.receive(streamOf('abc'), 3)).discard();
    await expect(blobs.receive(streamOf('ab', 'cd'), 3)).rejects.toBeInstanceOf(BlobTooLarge);
    const broken = new Readable({ read: () => undefined });
    broken.push('ab');
    setTimeout(() => broken.destroy(new Error('the sender went away')), 20);
    await expect(blobs.receive(broken, 3)).rejects.toThrow('the sender went away');
    expect(files()).toEqual([]);
  });

  it('does not destroy a stream that was too large, so that its sender can be answered', async () => {
    const source = new Readable({ read: () => undefined });
    source.push(Buffer.alloc(8));
    await expect(blobs.receive(source, 3)).rejects.toBeInstanceOf(BlobTooLarge);
    expect(source.destroyed).toBe(false);
  });

  it('gives the first bytes only as the head, however the stream is cut', async () => {
    const bytes = Buffer.from(Array.from({ length: 10_000 }, (_, index) => index % 251));
    const parts = [bytes.subarray(0, 4_000), bytes.subarray(4_000, 4_200), bytes.subarray(4_200)];
    const received = await blobs.receive(Readable.from(parts), 10_000);
    expect(Buffer.from(received.head).equals(bytes.subarray(0, 4_100))).toBe(true);
    expect(received.sha256).toBe(createHash('sha256').update(bytes).digest('hex'));
  });

  it('knows no other bytes, and refuses a name that is no hash', async () => {
    expect(await blobs.open('0'.repeat(64))).toBeNull();
    await expect(blobs.open('../../etc/passwd')).rejects.toThrow(RangeError);
  });
});
