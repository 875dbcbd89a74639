import { describe, expect, it } from '@jest/globals';
import {
  accessLevel,
  type AccessFact,
  type Audience,
  AUDIENCES,
  fieldsShown,
  type HolderTies,
  resolveSharing,
  showsHolder,
} from './access-level.core.js';

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
    expect(accessLevel({ own: [open('guest'), ended('holder', EARLY)], sharedInClub: true }).level).toBe('guest');
    expect(accessLevel({ own: [open('guest'), open('receiver')], sharedInClub: true }).level).toBe('offered');
  });

  it('lets who had it twice read to the end of the later time', () => {
    expect(
      accessLevel({ own: [ended('holder', LATE), ended('owner', EARLY)], sharedInClub: false }).readsUntil,
    ).toEqual(LATE);
  });

  it('gives nothing for an offer that has closed, nor for a guest whose days are over', () => {
    expect(accessLevel({ own: [ended('receiver', null)], sharedInClub: false }).level).toBe('none');
    expect(accessLevel({ own: [ended('guest', null)], sharedInClub: false }).level).toBe('none');
  });
});

describe('fieldsShown', () => {
  it('shows the present holder to no past holder, and to a receiver or guest only where that keeper shows it', () => {
    for (const level of ['past', 'none'] as const)
      expect(fieldsShown(level)).toMatchObject({ holder: false, holderIfShown: false });
    for (const level of ['offered', 'guest', 'club'] as const)
      expect(fieldsShown(level)).toMatchObject({ holder: false, holderIfShown: true });
  });

  it('shows papers to those who have or own the animal alone, and quarantine to a guest as well', () => {
    const shown = (['full', 'offered', 'guest', 'past', 'club', 'none'] as const).map(fieldsShown);
    expect(shown.map(({ papers }) => papers)).toEqual([true, false, false, false, false, false]);
    expect(shown.map(({ health }) => health)).toEqual([true, false, true, false, false, false]);
  });

  it('shows a club-mate lineage only', () => {
    expect(fieldsShown('club')).toEqual({
      lineage: true,
      record: false,
      health: false,
      papers: false,
      holder: false,
      holderIfShown: true,
    });
  });
});

describe('what a keeper sets about sharing', () => {
  const keeper = { holdings: 'coordinator', lineageWithheld: false } as const;
  const choice = (holdings: Audience | null, lineageWithheld = false) => ({ holdings, lineageWithheld });

  it('takes the audience of the nearest level that names one', () => {
    expect(resolveSharing(keeper, null, null).holdings).toBe('coordinator');
    expect(resolveSharing(keeper, choice('club'), null).holdings).toBe('club');
    expect(resolveSharing(keeper, choice('club'), choice(null)).holdings).toBe('club');
    expect(resolveSharing(keeper, choice('club'), choice('nobody')).holdings).toBe('nobody');
  });

  it('withholds lineage where any level does', () => {
    expect(resolveSharing(keeper, choice(null), choice(null)).lineageShared).toBe(true);
    expect(resolveSharing(keeper, choice(null, true), choice(null)).lineageShared).toBe(false);
    expect(resolveSharing(keeper, null, choice(null, true)).lineageShared).toBe(false);
    expect(resolveSharing({ ...keeper, lineageWithheld: true }, choice('club'), choice('club')).lineageShared).toBe(
      false,
    );
  });

  it('shows a holder to club-mates for the audience club alone, and to the other party unless for nobody', () => {
    const to = (ties: HolderTies): boolean[] => AUDIENCES.map((audience) => showsHolder(audience, ties));
    expect(to({ clubMates: false, otherParty: false })).toEqual([false, false, false, false]);
    expect(to({ clubMates: true, otherParty: false })).toEqual([false, false, false, true]);
    expect(to({ clubMates: false, otherParty: true })).toEqual([false, true, true, true]);
  });
});
