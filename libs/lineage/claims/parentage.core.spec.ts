import { describe, expect, it } from '@jest/globals';
import { day } from '../../kernel/index.js';
import { ancestryPath, decideParent, type KinFacts } from './parentage.core.js';

const animal = (more: Partial<KinFacts>): KinFacts => ({
  id: 'x',
  kind: 'individual',
  taxonId: 't',
  sex: 'unknown',
  birth: { earliest: null, latest: null },
  ...more,
});
const year = (value: number) => ({ earliest: day(`${value}-01-01`), latest: day(`${value}-12-31`) });
const rule = (child: Partial<KinFacts>, parent: Partial<KinFacts>, role: 'sire' | 'dam' = 'sire') => {
  const decision = decideParent(animal({ id: 'child', ...child }), animal({ id: 'parent', ...parent }), role);
  return decision.ok ? null : decision.refusal.rule;
};

describe('decideParent', () => {
  it('lets pass what is possible: unknown sex, unknown dates, births within one year', () => {
    expect(rule({}, {})).toBeNull();
    expect(rule({ birth: year(2020) }, { birth: year(2020) })).toBeNull();
    expect(rule({}, { sex: 'female' }, 'dam')).toBeNull();
  });

  it('refuses what is certain not to be', () => {
    expect(rule({ id: 'parent' }, {})).toBe('LINEAGE_SELF_PARENT');
    expect(rule({}, { kind: 'lot' })).toBe('LINEAGE_PARENT_IS_LOT');
    expect(rule({}, { taxonId: 'other' })).toBe('LINEAGE_OTHER_TAXON');
    expect(rule({}, { sex: 'female' })).toBe('LINEAGE_SEX_CONFLICT');
    expect(rule({ birth: year(2019) }, { birth: year(2020) })).toBe('LINEAGE_PARENT_NOT_YET_BORN');
  });

  it('refuses a parent born on the very day of its offspring', () => {
    const same = { earliest: day('2020-05-03'), latest: day('2020-05-03') };
    expect(rule({ birth: same }, { birth: same })).toBe('LINEAGE_PARENT_NOT_YET_BORN');
  });
});

describe('ancestryPath', () => {
  const parents: Record<string, string[]> = { d: ['c', 'b'], c: ['b'], b: ['a'] };
  const parentsOf = (id: string) => parents[id] ?? [];

  it('finds the shortest way up', () => {
    expect(ancestryPath('d', 'a', parentsOf)).toEqual(['d', 'b', 'a']);
    expect(ancestryPath('a', 'd', parentsOf)).toBeNull();
  });

  it('ends on a loop that somebody left in the data', () => {
    expect(ancestryPath('x', 'z', (id) => (id === 'x' ? ['y'] : ['x']))).toBeNull();
  });
});
