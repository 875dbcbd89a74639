import { describe, expect, it } from '@jest/globals';
import { parseTransponder } from './transponder.js';

describe('transponder', () => {
  it.each([
    ['276000000012345', 'country', '276'],
    ['004000000000001', 'country', '004'],
    ['899000000000001', 'country', '899'],
    ['900115001234567', 'sharedManufacturer', '900'],
    ['901000000000001', 'manufacturer', '901'],
    ['998000000000001', 'manufacturer', '998'],
  ])('tells who issued %s: %s %s', (text, kind, code) => {
    expect(parseTransponder(text)).toMatchObject({ verdict: 'valid', issuer: { kind, code } });
  });

  it('packs the parts into their fields of the 64-bit word', () => {
    for (const text of ['276000000012345', '004000000000001', '998274877906943', '528000000000000']) {
      const result = parseTransponder(text);
      if (result.verdict !== 'valid') throw new Error(text);
      const word = BigInt(result.word);
      expect(word >> 63n).toBe(1n); // bit 1: animal
      expect((word >> 48n) & 0x7fffn).toBe(0n); // bits 2-15 reserved, bit 16 data flag
      expect((word >> 38n) & 0x3ffn).toBe(BigInt(text.slice(0, 3))); // bits 17-26
      expect(word & 0x3fffffffffn).toBe(result.nationalId); // bits 27-64
      expect(result.nationalId).toBe(BigInt(text.slice(3)));
    }
  });

  it('drops blanks, dots and hyphens', () => {
    for (const text of ['985 141 000 123 456', '985.141000123456', ' 985-141000123456 ']) {
      expect(parseTransponder(text)).toMatchObject({ verdict: 'valid', digits: '985141000123456' });
    }
  });

  it('flags the test code and gives it no word', () => {
    const result = parseTransponder('999000000000001');
    expect(result).toMatchObject({ verdict: 'test', digits: '999000000000001' });
    expect(result).not.toHaveProperty('word');
  });

  it.each([
    ['98514100012345O', 'no "O"', 'digit 0'],
    ['98514100012345l', 'no "l"', 'digit 1'],
    ['98514100012345x', 'no "x"', '15 digits'],
    ['98514100012345\u0663', 'digits only', '15 digits'],
    ['123456789', 'this has 9', 'another kind of mark'],
    ['', 'this has 0', 'Read it again'],
    ['000000000000001', '000', 'first three digits'],
    ['999274877906944', '274877906943', 'Read it again'],
  ])('rejects %j: %s; %s', (text, message, remedy) => {
    expect(parseTransponder(text)).toMatchObject({
      verdict: 'invalid',
      message: expect.stringContaining(message),
      remedy: expect.stringContaining(remedy),
    });
  });
});
