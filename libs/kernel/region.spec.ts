import { describe, expect, it } from '@jest/globals';
import { isRegionCode } from './region.js';

/** Form of a code in ISO 3166-2: alpha-2 code, hyphen, up to three alphanumeric characters (from memory). */
describe('isRegionCode', () => {
  it.each(['AT-7', 'US-CA', 'GB-ENG', 'FR-2A', 'XA-NO'])('%s is one', (text) => expect(isRegionCode(text)).toBe(true));
  it.each(['', 'AT', 'AT-', 'AT-1234', 'at-7', 'AT-ü', 'ATX-7', 'AT_7', ' AT-7', 'AT-7\n'])('%j is none', (text) =>
    expect(isRegionCode(text)).toBe(false),
  );
});
