import { describe, expect, it } from '@jest/globals';
import { day } from '../../kernel/index.js';
import { decideMerge, type MergeKinship, type MergeSide } from './merge.core.js';

const APART: MergeKinship = { inLine: false, commonChildId: null };
const born = (earliest: string, latest = earliest) => ({ earliest: day(earliest), latest: day(latest) });
const side = (more: Partial<MergeSide> = {}): MergeSide => ({
  id: 'kept',
  kind: 'individual',
  taxonId: 't',
  lineId: null,
  sex: 'male',
  birth: born('2020-01-01'),
  claims: [],
  hasMerged: false,
  openTransferId: null,
  quarantineGroupId: null,
  enclosureId: null,
  ...more,
});
function rule(keep: Partial<MergeSide>, merge: Partial<MergeSide>, kinship: Partial<MergeKinship> = {}) {
  const decision = decideMerge(side(keep), side({ id: 'other', ...merge }), { ...APART, ...kinship });
  return decision.ok ? decision.value.map(({ code }) => code) : decision.refusal.rule;
}
const claim = (role: 'sire' | 'dam', ...ids: string[]) => ({
  role,
  candidates: ids.map((parentId) => ({ parentId, probability: 1 / ids.length })),
});

describe('decideMerge', () => {
  it('says nothing where the records agree', () => {
    expect(rule({ claims: [claim('sire', 'a', 'b')] }, { claims: [claim('sire', 'b', 'a')] })).toEqual([]);
    expect(rule({}, { claims: [claim('sire', 'a')] })).toEqual([]);
  });

  it('warns of what the records leave open', () => {
    expect(rule({}, { sex: 'unknown' })).toEqual(['MERGE_SEX_OPEN']);
    expect(rule({}, { birth: born('2020-01-01', '2020-12-31') })).toEqual(['MERGE_BIRTH_OPEN']);
    expect(rule({}, { birth: { earliest: null, latest: null }, lineId: 'l' })).toEqual([
      'MERGE_BIRTH_OPEN',
      'MERGE_LINES_DIFFER',
    ]);
  });

  it.each<[string, Partial<MergeSide>, Partial<MergeSide>, Partial<MergeKinship>]>([
    ['MERGE_SAME_RECORD', { id: 'one' }, { id: 'one' }, {}],
    ['MERGE_LOT', { kind: 'lot' }, {}, {}],
    ['MERGE_LOT', {}, { kind: 'lot' }, {}],
    ['MERGE_OTHER_TAXON', {}, { taxonId: 'u' }, {}],
    ['MERGE_CHAIN', {}, { hasMerged: true }, {}],
    ['TRANSFER_OPEN', { openTransferId: 'x' }, {}, {}],
    ['TRANSFER_OPEN', {}, { openTransferId: 'x' }, {}],
    ['MERGE_IN_QUARANTINE', {}, { quarantineGroupId: 'q' }, {}],
    ['MERGE_IN_QUARANTINE', { quarantineGroupId: 'p' }, { quarantineGroupId: 'q' }, {}],
    ['MERGE_TWO_PLACES', { enclosureId: 'e' }, { enclosureId: 'f' }, {}],
    ['MERGE_ANCESTOR', {}, {}, { inLine: true }],
    ['MERGE_TWO_PARENTS', {}, {}, { commonChildId: 'c' }],
    ['MERGE_SEX_CONFLICT', {}, { sex: 'female' }, {}],
    ['MERGE_BIRTH_CONFLICT', {}, { birth: born('2020-01-02') }, {}],
    ['MERGE_PARENTS_CONFLICT', { claims: [claim('dam', 'a')] }, { claims: [claim('dam', 'b')] }, {}],
    ['MERGE_PARENTS_CONFLICT', { claims: [claim('sire')] }, { claims: [claim('sire', 'b')] }, {}],
  ])('refuses %s', (name, keep, merge, kinship) => {
    expect(rule(keep, merge, kinship)).toBe(name);
  });

  it('lets pass one group and one enclosure for both, and a record that was kept before', () => {
    expect(rule({ quarantineGroupId: 'q', enclosureId: 'e' }, { quarantineGroupId: 'q', enclosureId: 'e' })).toEqual(
      [],
    );
    expect(rule({ quarantineGroupId: 'q', enclosureId: 'e', hasMerged: true }, {})).toEqual([]);
  });
});
