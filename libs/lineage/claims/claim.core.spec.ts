import { describe, expect, it } from '@jest/globals';
import { day, type DaySpan } from '../../kernel/index.js';
import {
  decideClaim,
  decideTwoParents,
  type ParentBiology,
  type ParentFacts,
  type ParentStatement,
} from './claim.core.js';
import { type KinFacts } from './parentage.core.js';

const OPEN: DaySpan = { earliest: null, latest: null };
const on = (text: string): DaySpan => ({ earliest: day(text), latest: day(text) });
const from = (earliest: string, latest: string): DaySpan => ({ earliest: day(earliest), latest: day(latest) });

/** Numbers for these tests only: 30 days of sperm storage and 10 of incubation, first breeding at 100 days. */
const BIOLOGY: ParentBiology = {
  maturityDays: { min: 100, source: 'test, maturity' },
  spermStorageMaxDays: { value: 30, source: 'test, storage' },
  incubationDays: { max: 10, source: 'test, incubation' },
};

const child = (birth: DaySpan = on('2020-06-30')): KinFacts => ({
  id: 'child',
  kind: 'individual',
  taxonId: 't',
  sex: 'unknown',
  birth,
});
const parent = (more: Partial<ParentFacts> = {}): ParentFacts => ({
  ...child(on('2010-01-01')),
  id: 'parent',
  death: null,
  ...more,
});

function judge(
  parents: readonly ParentFacts[],
  more: Partial<ParentStatement> = {},
  biology: ParentBiology = BIOLOGY,
  young: KinFacts = child(),
) {
  const statement: ParentStatement = {
    role: 'sire',
    basis: 'declared',
    withoutSire: false,
    candidates: parents.map(({ id }) => ({ parentId: id, probability: 1 / parents.length })),
    ...more,
  };
  return decideClaim(young, statement, parents, biology, (i) => `input.candidates.${i}.parentId`);
}
function codes(...args: Parameters<typeof judge>): string[] | string {
  const decision = judge(...args);
  return decision.ok ? decision.value.map(({ code }) => code) : decision.refusal.rule;
}

describe('decideClaim', () => {
  it('says nothing where all dates are plain', () => {
    expect(codes([parent()])).toEqual([]);
    expect(codes([parent()], { role: 'dam' })).toEqual([]);
    expect(codes([])).toEqual([]);
  });

  it('names the candidate that cannot be, by field and by record, and not the others', () => {
    const decision = judge([parent(), parent({ id: 'late', birth: on('2021-01-01') })]);
    expect(decision).toMatchObject({
      ok: false,
      refusal: {
        rule: 'LINEAGE_PARENT_NOT_YET_BORN',
        fields: [{ path: 'input.candidates.1.parentId' }],
        blockers: [{ kind: 'animal', id: 'late' }],
      },
    });
    expect(codes([parent(), parent({ id: 'female', sex: 'female' })])).toBe('LINEAGE_SEX_CONFLICT');
    expect(codes([parent({ id: 'child' })])).toBe('LINEAGE_SELF_PARENT');
  });

  it('answers yes, possible and no on births: silent, warned, refused', () => {
    expect(codes([parent({ birth: from('2019-01-01', '2019-12-31') })])).toEqual([]);
    expect(codes([parent({ birth: from('2020-01-01', '2020-12-31') })])).toEqual(['PARENT_AGE_OPEN', 'PARENT_YOUNG']);
    expect(codes([parent({ birth: OPEN })])).toEqual(['PARENT_AGE_OPEN']);
    expect(codes([parent({ birth: on('2020-06-30') })])).toBe('LINEAGE_PARENT_NOT_YET_BORN');
  });

  it('warns of a young parent with the source, and never refuses one', () => {
    // 29 March to 30 June are 93 days, 22 March to 30 June are 100.
    expect(codes([parent({ birth: on('2020-03-29') })])).toEqual(['PARENT_YOUNG']);
    expect(codes([parent({ birth: on('2020-03-22') })])).toEqual([]);
    const decision = judge([parent({ birth: on('2020-06-29') })]);
    expect(decision).toMatchObject({ ok: true, value: [{ source: 'test, maturity', parentId: 'parent' }] });
    expect(codes([parent({ birth: on('2020-06-29') })], {}, {})).toEqual([]);
  });

  it('a dead sire: within storage and incubation silent, open warned, beyond refused with numbers and source', () => {
    // 21 May + 40 days is 30 June, the day of birth.
    expect(codes([parent({ death: on('2020-05-21') })])).toEqual([]);
    expect(codes([parent({ death: from('2020-05-01', '2020-05-31') })])).toEqual(['SIRE_MAY_BE_DEAD_TOO_LONG']);
    expect(codes([parent({ death: OPEN })])).toEqual(['SIRE_MAY_BE_DEAD_TOO_LONG']);
    const refused = judge([parent({ death: on('2020-05-20') })]);
    expect(refused).toMatchObject({ ok: false, refusal: { rule: 'LINEAGE_SIRE_DEAD_TOO_LONG' } });
    const message = refused.ok ? '' : refused.refusal.message;
    expect(message).toContain('30 days of sperm storage and 10 of incubation');
    expect(message).toContain('test, storage; test, incubation');
    expect(codes([parent({ death: on('2020-05-20') })], { role: 'dam' })).not.toContain('LINEAGE_SIRE_DEAD_TOO_LONG');
  });

  it('a genetic test outweighs the numbers, and without numbers nothing is refused', () => {
    const longDead = [parent({ death: on('2011-01-01') })];
    expect(codes(longDead, { basis: 'genetic_test' })).toEqual(['SIRE_DEAD_TOO_LONG']);
    for (const missing of ['spermStorageMaxDays', 'incubationDays'] as const)
      expect(codes(longDead, {}, { ...BIOLOGY, [missing]: undefined })).toEqual(['SIRE_DEAD_BEFORE_BIRTH']);
    expect(codes(longDead, {}, { ...BIOLOGY, incubationDays: { source: 'a mean only' } })).toEqual([
      'SIRE_DEAD_BEFORE_BIRTH',
    ]);
  });

  it('a dam dead before the laying is a warning', () => {
    expect(codes([parent({ death: on('2020-06-20') })], { role: 'dam' })).toEqual([]);
    expect(codes([parent({ death: on('2020-06-19') })], { role: 'dam' })).toEqual(['DAM_DEAD_BEFORE_LAYING']);
    expect(codes([parent({ death: on('2020-06-29') })], { role: 'dam' }, {})).toEqual(['DAM_DEAD_BEFORE_BIRTH']);
    expect(codes([parent({ death: on('2020-06-30') })], { role: 'dam' }, {})).toEqual([]);
  });

  it('development without a sire needs a profile that knows of it, and is said of the sire only', () => {
    const none = { withoutSire: true, candidates: [] };
    expect(codes([], none)).toBe('LINEAGE_NO_PARTHENOGENESIS');
    const known = { ...BIOLOGY, parthenogenesis: { value: 'facultative' as const, source: 'test, parthenogenesis' } };
    expect(judge([], none, known)).toMatchObject({
      ok: true,
      value: [{ code: 'WITHOUT_SIRE', source: 'test, parthenogenesis' }],
    });
    expect(codes([], { ...none, role: 'dam' }, known)).toBe('LINEAGE_DAM_NEEDED');
    const always = { parthenogenesis: { value: 'obligate' as const, source: 'test' } };
    expect(codes([parent()], {}, always)).toEqual(['SIRE_IN_TAXON_WITHOUT_SIRES']);
  });
});

describe('decideTwoParents', () => {
  const one = [{ parentId: 'a', probability: 1 }];
  it('refuses one animal as certain sire and certain dam only', () => {
    expect(decideTwoParents(one, one)).toMatchObject({ ok: false, refusal: { rule: 'LINEAGE_SIRE_IS_DAM' } });
    expect(decideTwoParents(one, [{ parentId: 'b', probability: 1 }]).ok).toBe(true);
    const group = [
      { parentId: 'a', probability: 0.5 },
      { parentId: 'b', probability: 0.5 },
    ];
    expect(decideTwoParents(group, group).ok).toBe(true);
    expect(decideTwoParents([], []).ok).toBe(true);
  });
});
