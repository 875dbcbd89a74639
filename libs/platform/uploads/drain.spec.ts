import { Readable } from 'node:stream';
import { describe, expect, it } from '@jest/globals';
import { drain } from './drain.js';

describe('drain', () => {
  const parts = (count: number) => Readable.from(Array.from({ length: count }, () => Buffer.alloc(10)));

  it('reads to the end of what is within the limit', async () => {
    const stream = parts(3);
    expect(await drain(stream, 30)).toBe(true);
    expect(stream.readableEnded).toBe(true);
  });

  it('stops beyond the limit and leaves the stream whole', async () => {
    const stream = parts(4);
    expect(await drain(stream, 30)).toBe(false);
    expect([stream.readableEnded, stream.destroyed]).toEqual([false, false]);
  });

  it('takes a stream that broke off for one that ended', async () => {
    const broken = new Readable({
      read() {
        this.destroy(new Error('gone'));
      },
    });
    expect(await drain(broken, 30)).toBe(true);
  });
});
