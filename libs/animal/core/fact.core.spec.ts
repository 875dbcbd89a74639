import { describe, expect, it } from '@jest/globals';
import { day } from '../../kernel/index.js';
import { birthYearOf } from './animal-view.core.js';
import { type Fact, type FactBody, project, type When } from './fact.core.js';

const on = (text: string): When => ({ edtf: text, earliest: day(text), latest: day(text) });
let made = 0;
const fact = (body: FactBody, recordedAt: string, more: { when?: When; supersededAt?: string } = {}): Fact => ({
  ...body,
  id: String(++made),
  when: more.when ?? null,
  recordedAt: new Date(recordedAt),
  supersededAt: more.supersededAt === undefined ? null : new Date(more.supersededAt),
  keeperId: 'k',
});

const facts = [
  fact({ kind: 'birth', body: { manner: 'hatched' } }, '2026-01-01', {
    when: { edtf: '2026-05~', earliest: day('2026-05-01'), latest: day('2026-05-31') },
  }),
  fact({ kind: 'sex', body: { sex: 'male' } }, '2026-01-02', { supersededAt: '2026-03-01' }),
  fact({ kind: 'sex', body: { sex: 'female' } }, '2026-03-01'),
  fact({ kind: 'weight', body: { grams: 12 } }, '2026-02-01', { when: on('2026-06-20') }),
  fact({ kind: 'seen', body: {} }, '2026-02-02', { when: on('2026-06-10') }),
  fact({ kind: 'fate', body: { fate: 'dead' } }, '2026-04-01', { when: on('2026-07-01') }),
];

describe('project', () => {
  it('says what the facts in force say', () => {
    expect(project(facts)).toEqual({
      name: null,
      sex: 'female',
      birth: { edtf: '2026-05~', earliest: '2026-05-01', latest: '2026-05-31', manner: 'hatched' },
      birthManner: 'hatched',
      originClass: 'unknown',
      isHybrid: false,
      fate: 'dead',
      fateWhen: on('2026-07-01'),
      lastSeenOn: '2026-06-20',
    });
  });

  it('for a past moment takes what was in force then, whatever was recorded or superseded later', () => {
    expect(project(facts, new Date('2026-02-15'))).toMatchObject({
      sex: 'male',
      fate: 'alive',
      lastSeenOn: '2026-06-20',
    });
    expect(project(facts, new Date('2026-01-15'))).toMatchObject({ sex: 'male', lastSeenOn: null });
  });

  it('is a hybrid while a statement that names other taxa is in force', () => {
    const said = fact({ kind: 'hybrid', body: { of: ['Python regius', 'Python molurus'] } }, '2026-03-01');
    const takenBack = fact({ kind: 'hybrid', body: { of: [] } }, '2026-05-01');
    expect(project([said]).isHybrid).toBe(true);
    expect(project([said, takenBack]).isHybrid).toBe(false);
  });

  it('does not depend on the order in which facts are read', () => {
    expect(project(facts.toReversed())).toEqual(project(facts));
  });
});

describe('birthYearOf', () => {
  it('is known only when every possible day lies in one year', () => {
    expect(birthYearOf({ earliest: day('2026-05-01'), latest: day('2026-05-31') })).toBe(2026);
    expect(birthYearOf({ earliest: day('2025-12-31'), latest: day('2026-01-01') })).toBeNull();
    expect(birthYearOf({ earliest: null, latest: day('2026-01-01') })).toBeNull();
    expect(birthYearOf(null)).toBeNull();
  });
});
