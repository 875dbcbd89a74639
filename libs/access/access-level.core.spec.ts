import { describe, expect, it } from '@jest/globals';
import { accessLevel, type AccessFact, fieldsShown } from './access-level.core.js';

const open = (relation: AccessFact['relation']): AccessFact => ({ relation, closed: false, readsUntil: null });
const ended = (relation: AccessFact['relation'], readsUntil: Date | null): AccessFact => ({
  relation,
  closed: true,
  readsUntil,
});
const EARLY = new Date('2026-01-01');
const LATE = new Date('2026-06-01');

describe('accessLevel', () => {
  it('denies where nothing is known', () => {
    expect(accessLevel({ own: [], sharedInClub: false })).toEqual({ level: 'none', readsUntil: null });
  });

  it('takes the highest of several ways', () => {
    const all = [open('receiver'), ended('holder', EARLY), open('owner')];
    expect(accessLevel({ own: all, sharedInClub: true }).level).toBe('full');
    expect(accessLevel({ own: all.slice(0, 2), sharedInClub: true }).level).toBe('offered');
    expect(accessLevel({ own: all.slice(1, 2), sharedInClub: true })).toEqual({ level: 'past', readsUntil: EARLY });
    expect(accessLevel({ own: all.slice(0, 1), sharedInClub: true }).level).toBe('offered');
    expect(accessLevel({ own: [], sharedInClub: true }).level).toBe('club');
  });

  it('lets who had it twice read to the end of the later time', () => {
    expect(
      accessLevel({ own: [ended('holder', LATE), ended('owner', EARLY)], sharedInClub: false }).readsUntil,
    ).toEqual(LATE);
  });

  it('gives nothing for an offer that has closed', () => {
    expect(accessLevel({ own: [ended('receiver', null)], sharedInClub: false }).level).toBe('none');
  });
});

describe('fieldsShown', () => {
  it('shows the present holder to no past holder and no receiver', () => {
    for (const level of ['past', 'offered', 'none'] as const) {
      expect(fieldsShown(level)).toMatchObject({ holder: false, holderIfShown: false });
    }
  });

  it('shows a club-mate lineage only', () => {
    expect(fieldsShown('club')).toEqual({ lineage: true, record: false, holder: false, holderIfShown: true });
  });
});
