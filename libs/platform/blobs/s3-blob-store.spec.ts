import { createHash } from 'node:crypto';
import { mkdtempSync, readdirSync, rmSync, utimesSync, writeFileSync } from 'node:fs';
import { createServer, type Server } from 'node:http';
import { type AddressInfo } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { Readable } from 'node:stream';
import { buffer } from 'node:stream/consumers';
import { afterAll, beforeAll, beforeEach, describe, expect, it } from '@jest/globals';
import { S3BlobStore } from './s3-blob-store.js';

/** SHA-256 of "abc": FIPS 180-2, appendix B.1. */
const ABC = 'ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad';

/** When the bucket says that everything in it was stored. */
const KEPT = '2026-05-03T12:00:00Z';

/**
 * Answers GetObject, HeadObject, PutObject and DeleteObject as a bucket does, as far as the store uses them: path-style names, the checksum of the
 * request held against the bytes, NoSuchKey. A stand-in for a real server, which nobody has at hand in a test.
 */
function bucketServer(objects: Map<string, Buffer>): Server {
  return createServer((request, response) => {
    void buffer(request).then((bytes) => {
      const { url = '', method, headers } = request;
      const path = url.replace(/\?.*$/, '');
      const signed = headers.authorization?.startsWith('AWS4-HMAC-SHA256 Credential=key-of-a-test/') === true;
      if (!signed) return response.writeHead(403).end();
      if (method === 'PUT') {
        if (headers['x-amz-checksum-sha256'] !== createHash('sha256').update(bytes).digest('base64'))
          return response.writeHead(400).end();
        objects.set(path, bytes);
        return response.writeHead(200).end();
      }
      if (method === 'DELETE') {
        objects.delete(path);
        return response.writeHead(204).end();
      }
      const found = objects.get(path);
      const facts = { 'content-length': found?.length ?? 0, 'last-modified': new Date(KEPT).toUTCString() };
      if (found !== undefined) return response.writeHead(200, facts).end(method === 'HEAD' ? undefined : found);
      if (method === 'HEAD') return response.writeHead(404).end();
      response.writeHead(404, { 'content-type': 'application/xml' });
      return response.end('<?xml version="1.0"?><Error><Code>NoSuchKey</Code><Message>none</Message></Error>');
    });
  });
}

describe('S3BlobStore', () => {
  const objects = new Map<string, Buffer>();
  const server = bucketServer(objects);
  const incoming = mkdtempSync(join(tmpdir(), 'kithbook-incoming-'));
  let blobs: S3BlobStore;
  const storeAt = (endpoint: string) =>
    new S3BlobStore(
      { bucket: 'papers', region: 'us-east-1', endpoint, accessKeyId: 'key-of-a-test', secretAccessKey: 'secret' },
      incoming,
    );

  beforeAll(() => new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve)));
  beforeEach(() => {
    objects.clear();
    blobs = storeAt(`http://127.0.0.1:${(server.address() as AddressInfo).port}`);
  });
  afterAll(async () => {
    rmSync(incoming, { recursive: true });
    await new Promise((resolve) => server.close(resolve));
  });

  it('removes bytes unless they were kept again since', async () => {
    await blobs.put(Buffer.from('abc'));
    expect(await blobs.remove(ABC, new Date('2026-05-03T12:00:00.500Z'))).toBe(false); // perhaps the same second
    expect(objects.size).toBe(1);
    expect(await blobs.remove(ABC, new Date('2026-05-03T12:00:01Z'))).toBe(true);
    expect(objects.size).toBe(0);
    expect(await blobs.remove(ABC, new Date('2026-05-04T00:00:00Z'))).toBe(false);
  });

  it('keeps bytes under the hash in the bucket and gives them back', async () => {
    const received = await blobs.receive(Readable.from([Buffer.from('a'), Buffer.from('bc')]), 3);
    expect(objects.size).toBe(0);
    await received.keep();
    await received.discard();
    expect([...objects]).toEqual([[`/papers/sha256/ba/78/${ABC}`, Buffer.from('abc')]]);
    expect(readdirSync(incoming)).toEqual([]);
    const stream = await blobs.open(ABC);
    expect(stream && (await buffer(stream)).toString()).toBe('abc');
  });

  it('sends large files as a stream', async () => {
    const bytes = Buffer.alloc(3_000_000, 7);
    const received = await blobs.receive(Readable.from([bytes]), bytes.length);
    await received.keep();
    await received.discard();
    expect([...objects.values()][0]?.equals(bytes)).toBe(true);
  });

  it('puts nothing into the bucket of what is discarded', async () => {
    await (await blobs.receive(Readable.from([Buffer.from('abc')]), 3)).discard();
    expect(objects.size).toBe(0);
    expect(readdirSync(incoming)).toEqual([]);
  });

  it('knows no other bytes, and refuses a name that is no hash', async () => {
    expect(await blobs.open('0'.repeat(64))).toBeNull();
    await expect(blobs.open('../papers')).rejects.toThrow(RangeError);
  });

  it('removes what a killed process left a day ago, and leaves what is younger', async () => {
    writeFileSync(join(incoming, 'old'), 'x');
    writeFileSync(join(incoming, 'young'), 'x');
    const twoDaysAgo = Date.now() / 1000 - 2 * 86_400;
    utimesSync(join(incoming, 'old'), twoDaysAgo, twoDaysAgo);
    const fresh = storeAt('http://127.0.0.1:9');
    await (await fresh.receive(Readable.from([Buffer.from('abc')]), 3)).discard();
    expect(readdirSync(incoming)).toEqual(['young']);
  });
});
