import { describe, expect, it } from '@jest/globals';
import { parseTransponder } from '../../libs/kernel/index.js';

/**
 * Outside check O16. Source: ISO 11784 field widths (1 + 14 + 1 + 10 + 38 bits, ICAR material on ISO 11784); the words
 * were computed from these widths, outside this program, with the animal flag set.
 */
const VALID: [code: string, issuer: { kind: string; code: string }, word: string][] = [
  ['276000000012345', { kind: 'country', code: '276' }, '0x8000450000003039'],
  ['900115001234567', { kind: 'sharedManufacturer', code: '900' }, '0x8000e11ac69b9487'],
  ['985141000123456', { kind: 'manufacturer', code: '985' }, '0x8000f660d4432440'],
  ['528274877906943', { kind: 'country', code: '528' }, '0x8000843fffffffff'],
];

const INVALID: [code: string, why: string, message: RegExp][] = [
  ['528274877906944', 'national id does not fit 38 bits', /higher than 274877906943/],
  ['98514100012345', '14 digits', /15 digits; this has 14/],
  ['9851410001234567', '16 digits', /15 digits; this has 16/],
  ['000000000000001', 'country code 000 unassigned', /code 000/],
  ['98514100012345O', 'letter O', /digits only, no "O"/],
];

describe('ISO 11784 transponder numbers against outside values (O16)', () => {
  it.each(VALID)('%s is valid: %j, %s', (code, issuer, word) => {
    expect(parseTransponder(code)).toMatchObject({ verdict: 'valid', digits: code, issuer, word });
  });

  it('528274877906943 holds the largest 38-bit national id', () => {
    expect(parseTransponder('528274877906943')).toMatchObject({ nationalId: 2n ** 38n - 1n });
  });

  it.each(INVALID)('%s is invalid: %s', (code, _why, message) => {
    const result = parseTransponder(code);
    expect(result).toMatchObject({ verdict: 'invalid', message: expect.stringMatching(message) });
    expect(result).not.toHaveProperty('word');
  });

  it('999000000000001 is flagged: 999 = test transponder, not unique, no word', () => {
    const result = parseTransponder('999000000000001');
    expect(result.verdict).toBe('test');
    expect(result).not.toHaveProperty('word');
  });

  it('985 141000123456 is valid after removing the separator', () => {
    expect(parseTransponder('985 141000123456')).toEqual(parseTransponder('985141000123456'));
    expect(parseTransponder('985 141000123456')).toMatchObject({ verdict: 'valid', digits: '985141000123456' });
  });
});
