import { describe, expect, it } from '@jest/globals';
import { decodeCursor, encodeCursor } from './cursor.js';

describe('cursor', () => {
  it.each([
    [[]],
    [['a']],
    [['2021-05-03T10:00:00.000Z', '0190d5a4-7a3c-7000-8000-000000000001']],
    [['', 'ü/ñ', '\ufeff\u{1F98E}', '"\\']],
  ])('reads back %j', (parts: string[]) => {
    const text = encodeCursor(parts);
    expect(text).toMatch(/^[\w-]+$/);
    expect(decodeCursor(text)).toEqual(parts);
  });

  it('is base64url of JSON', () => {
    expect(encodeCursor(['a', 'b'])).toBe(Buffer.from('["a","b"]').toString('base64url'));
  });

  it('refuses what it did not make', () => {
    const of = (text: string): string => Buffer.from(text).toString('base64url');
    const good = encodeCursor(['a', 'bc']);
    const foreign = [
      '',
      'not a cursor',
      '*',
      'a',
      of('{"a":1}'),
      of('[1]'),
      of('["a"'),
      of('[ "a" ]'),
      of('null'),
      `${good}=`,
    ];
    for (const text of [
      ...foreign,
      good.slice(0, -1),
      `${good}A`,
      Buffer.from([0x5b, 0x22, 0xff, 0x22, 0x5d]).toString('base64url'),
    ]) {
      expect(decodeCursor(text)).toBeNull();
    }
    expect(decodeCursor(encodeCursor(['x'.repeat(5000)]))).toBeNull();
  });
});
