import { describe, expect, it } from '@jest/globals';
import { originFinding } from '../../libs/provenance/core/origin-finding.core.js';
import {
  BOUNDS,
  BRED_HERE,
  claim,
  hatched,
  laid,
  mated,
  record,
  WILD_DAM,
} from '../../libs/provenance/core/origin-fixtures.js';
import { type SourceFacts, suggestSourceCode } from '../../libs/provenance/core/source-code.core.js';

/**
 * Check O20: the permit source code that follows from known parents and a known mating.
 * Sources: CITES Notification 1998/14 of 31 March 1998, paragraphs 2 and 3; 50 CFR 23.24 (b) to (e) and 23.63; CITES
 * questionnaire on source codes. The letters are those of the convention.
 */
const F2_BRED: SourceFacts = {
  begun: 'mated_in_controlled_environment',
  ranched: 'no',
  seized: false,
  preConvention: false,
  generation: { lowest: 2, highest: 2 },
  lawfulStock: 'yes',
  secondGenerationReliable: false,
  appendix: 'II',
  purpose: null,
  registeredOperation: false,
};

const codes = (more: Partial<SourceFacts>) => suggestSourceCode({ ...F2_BRED, ...more }).codes;

describe('O20', () => {
  it('wild-caught female laid eggs already fertilised in the wild, hatched in captivity: W or R, never C (Notification 1998/14, 3)', () => {
    expect(codes({ begun: 'mated_outside', ranched: 'unknown', generation: { lowest: 0, highest: 0 } })).toEqual([
      'W',
      'R',
    ]);
    expect(codes({ begun: 'mated_outside', ranched: 'yes' })).toEqual(['R']);
    expect(codes({ begun: 'mated_outside', ranched: 'no' })).toEqual(['W']);
  });

  it('both parents wild-caught, mated in a controlled environment, no F2 produced or shown to be reliable: F (Notification 1998/14, 2)', () => {
    expect(codes({ generation: { lowest: 1, highest: 1 } })).toEqual(['F']);
    expect(codes({ generation: { lowest: 1, highest: 1 }, secondGenerationReliable: true })).toEqual(['C']);
  });

  it('F2 born in a controlled environment, lawful stock, Appendix II or III, or I for noncommercial purposes: C (50 CFR 23.24 (b))', () => {
    expect(codes({ appendix: 'II' })).toEqual(['C']);
    expect(codes({ appendix: 'III' })).toEqual(['C']);
    expect(codes({ appendix: 'I', purpose: 'noncommercial' })).toEqual(['C']);
  });

  it('Appendix I, commercial, registered operation: D (50 CFR 23.24 (c))', () => {
    expect(codes({ appendix: 'I', purpose: 'commercial', registeredOperation: true })).toEqual(['D']);
  });

  it('seized animal: I, with another code or instead of it (50 CFR 23.24 (e))', () => {
    expect(suggestSourceCode({ ...F2_BRED, begun: 'not_shown', seized: true })).toMatchObject({
      codes: ['I'],
      alongside: [],
    });
    expect(suggestSourceCode({ ...F2_BRED, seized: true })).toMatchObject({ codes: ['C'], alongside: ['I'] });
  });

  it('no evidence of origin: none suggested, the authority decides; never U', () => {
    const none = suggestSourceCode({ ...F2_BRED, begun: 'not_shown' });
    expect(none).toMatchObject({ codes: [], alongside: [] });
    expect(none.words).toContain('authority');
  });

  it('Appendix I, commercial, operation not registered for the species, F2 or later: F (50 CFR 23.24 (d)(2)(ii))', () => {
    expect(codes({ appendix: 'I', purpose: 'commercial', registeredOperation: false })).toEqual(['F']);
    expect(codes({ appendix: 'I', purpose: 'commercial', generation: { lowest: 4, highest: 4 } })).toEqual(['F']);
  });
});

describe('what follows from the same sources', () => {
  it('O goes with another code and never alone (50 CFR 23.24, opening sentence)', () => {
    expect(suggestSourceCode({ ...F2_BRED, begun: 'taken_from_the_wild', preConvention: true })).toMatchObject({
      codes: ['W'],
      alongside: ['O'],
    });
    expect(suggestSourceCode({ ...F2_BRED, begun: 'not_shown', preConvention: true })).toMatchObject({
      codes: [],
      alongside: [],
    });
  });

  it('without lawful stock shown it is F, not C (50 CFR 23.63, third criterion)', () => {
    expect(codes({ lawfulStock: 'unknown' })).toEqual(['F']);
    expect(codes({ lawfulStock: 'no' })).toEqual(['F']);
  });

  it('Appendix I with the purpose not told names both codes it can be', () => {
    expect(codes({ appendix: 'I', purpose: null })).toEqual(['C', 'F']);
    expect(codes({ appendix: 'I', purpose: null, registeredOperation: true })).toEqual(['C', 'D']);
  });

  it('a taxon that is not listed has no code', () => {
    expect(codes({ appendix: 'none', seized: true })).toEqual([]);
    expect(codes({ appendix: 'none' })).toEqual([]);
  });

  it('every suggestion names its source, and leaves the decision where it belongs', () => {
    const suggestion = suggestSourceCode(F2_BRED);
    expect(suggestion.source).toContain('50 CFR 23');
    expect(suggestion.words).toContain('The licensing authority decides.');
  });
});

describe('from records to the code', () => {
  const codesOf = (more: Parameters<typeof record>[0]) => {
    const { source } = originFinding(record(more), BOUNDS);
    return suggestSourceCode({
      ...source,
      preConvention: false,
      secondGenerationReliable: false,
      registeredOperation: false,
      appendix: 'II',
      purpose: null,
    }).codes;
  };

  it('a wild-caught dam that laid 9 days after arrival: W or R (Notification 1998/14, 3)', () => {
    expect(
      codesOf({ claim: claim('bred'), laying: laid('2024-01-19'), hatching: hatched('2024-03-25'), dam: WILD_DAM }),
    ).toEqual(['W', 'R']);
  });

  it('a mating recorded in captivity with the young of a wild-caught dam: F (Notification 1998/14, 2)', () => {
    const dam = { ...WILD_DAM, matings: [mated('2025-01-20')] };
    expect(codesOf({ ...BRED_HERE, dam })).toEqual(['F']);
  });

  it('nothing recorded: none', () => {
    expect(codesOf({ claim: claim('bred') })).toEqual([]);
  });
});
