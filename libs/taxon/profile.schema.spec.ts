import { describe, expect, it } from '@jest/globals';
import { parseTaxonProfile } from './profile.schema.js';

describe('the profile of a taxon', () => {
  it('an empty one says nothing, and keys it does not know are passed over', () => {
    expect(parseTaxonProfile({})).toEqual({});
    expect(parseTaxonProfile({ clutchSize: { min: 2, max: 16 } })).toEqual({});
  });

  it('keeps each bound with its source', () => {
    const profile = {
      maturityDays: { value: 400, source: 'a' },
      matingToLayingMinDays: { value: 20, source: 'b' },
      incubationDays: { min: 50, max: 90, source: 'c' },
      appendix: { value: 'none', source: 'd' },
    };
    expect(parseTaxonProfile(profile)).toEqual(profile);
  });

  it.each([
    ['a bound without a source', { clutchSizeMax: { value: 2 } }],
    ['a range without a number', { incubationDays: { source: 'a' } }],
    ['a range that ends before it begins', { incubationDays: { min: 9, max: 8, source: 'a' } }],
    ['an appendix there is not', { appendix: { value: 'IV', source: 'a' } }],
    ['half a day', { matingToLayingMinDays: { value: 0.5, source: 'a' } }],
  ])('refuses %s', (_, profile) => {
    expect(() => parseTaxonProfile(profile)).toThrow();
  });
});
