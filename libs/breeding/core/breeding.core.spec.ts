import { describe, expect, it } from '@jest/globals';
import { day, type DaySpan, type Decision, parseEdtf } from '../../kernel/index.js';
import { type BreedingAnimal, decideClutch, decideHatching, decideMating } from './breeding.core.js';

const TODAY = day('2026-06-10');

function span(edtf: string): DaySpan {
  const read = parseEdtf(edtf);
  if (!read.ok) throw new Error(read.message);
  return read.value;
}

function animal(id: string, more: Partial<BreedingAnimal> = {}): BreedingAnimal {
  return { id, kind: 'individual', taxonId: 'taxon', sex: 'unknown', birth: span('2020-05'), ...more };
}

const rule = (decision: Decision<null>) => (decision.ok ? null : decision.refusal.rule);
const dam = animal('dam', { sex: 'female' });
const sire = animal('sire', { sex: 'male' });

describe('a mating', () => {
  const mating = { dam, sire, when: span('2026-01') };

  it.each([
    ['with a sire', {}],
    ['with a sire nobody knows', { sire: null }],
    ['on a day nobody knows', { when: null }],
    ['of animals whose sex is not known', { dam: animal('dam'), sire: animal('sire') }],
    ['of different taxa: hybrids are recorded', { sire: animal('sire', { taxonId: 'other' }) }],
    ['on days that only perhaps lie before a birth', { when: span('2020') }],
  ])('is recorded %s', (_, more) => expect(rule(decideMating({ ...mating, ...more }, TODAY))).toBeNull());

  it.each([
    ['with itself', { sire: { ...sire, id: 'dam' } }, 'BREEDING_SAME_ANIMAL'],
    ['of a dam recorded as male', { dam: animal('dam', { sex: 'male' }) }, 'BREEDING_SEX_CONFLICT'],
    ['of a sire recorded as female', { sire: animal('sire', { sex: 'female' }) }, 'BREEDING_SEX_CONFLICT'],
    ['of a lot', { dam: animal('dam', { kind: 'lot' }) }, 'BREEDING_PARENT_IS_LOT'],
    ['with a lot', { sire: animal('sire', { kind: 'lot' }) }, 'BREEDING_PARENT_IS_LOT'],
    ['to come', { when: span('2026-06-11') }, 'DAY_IN_FUTURE'],
    ['before the sire was born', { when: span('2020-04') }, 'FACT_BEFORE_BIRTH'],
  ] as const)('is refused %s', (_, more, expected) =>
    expect(rule(decideMating({ ...mating, ...more }, TODAY))).toBe(expected),
  );
});

describe('a clutch', () => {
  const clutch = { dams: [dam], laid: span('2026-03'), foundOn: day('2026-03-20') };

  it('of a dam recorded as male is recorded: the sex is what is wrong', () =>
    expect(rule(decideClutch({ ...clutch, dams: [sire] }, TODAY))).toBeNull());

  it('is recorded with the day it was found inside the days it can have been laid', () =>
    expect(rule(decideClutch(clutch, TODAY))).toBeNull());

  it.each([
    ['found before it was laid', { foundOn: day('2026-02-28') }, 'CLUTCH_FOUND_BEFORE_LAID'],
    ['found on a day to come', { foundOn: day('2026-06-11') }, 'DAY_IN_FUTURE'],
    ['laid on a day to come', { laid: span('2026-07'), foundOn: null }, 'DAY_IN_FUTURE'],
    ['of a lot', { dams: [animal('dam', { kind: 'lot' })] }, 'BREEDING_PARENT_IS_LOT'],
    ['of dams of two taxa', { dams: [dam, animal('other', { taxonId: 'other' })] }, 'BREEDING_OTHER_TAXON'],
    ['laid before the only dam was born', { laid: span('2019'), foundOn: null }, 'FACT_BEFORE_BIRTH'],
  ] as const)('is refused %s', (_, more, expected) =>
    expect(rule(decideClutch({ ...clutch, ...more }, TODAY))).toBe(expected),
  );
});

describe('a hatching', () => {
  const hatching = {
    young: animal('young', { birth: span('2026-05') }),
    dams: [dam],
    laid: span('2026-03'),
    when: span('2026-05-10'),
  };

  it.each([
    ['after the laying', {}],
    ['of a lot', { young: animal('young', { kind: 'lot' }) }],
    ['that only perhaps lies before the laying', { when: span('2026-03-10') }],
  ] as const)('is recorded %s', (_, more) => expect(rule(decideHatching({ ...hatching, ...more }, TODAY))).toBeNull());

  it.each([
    ['certainly before the laying', { when: span('2026-02') }, 'HATCHED_BEFORE_LAID'],
    ['to come', { when: span('2026-07') }, 'DAY_IN_FUTURE'],
    ['of the dam herself', { young: dam }, 'BREEDING_SAME_ANIMAL'],
    ['of another taxon', { young: animal('young', { taxonId: 'other' }) }, 'BREEDING_OTHER_TAXON'],
  ] as const)('is refused %s', (_, more, expected) =>
    expect(rule(decideHatching({ ...hatching, ...more }, TODAY))).toBe(expected),
  );
});
