import { describe, expect, it } from '@jest/globals';
import { day } from '../../kernel/index.js';
import { reviewConflicts } from './mark-conflict.core.js';
import {
  checkDetails,
  checkMark,
  currentMarks,
  decideMarkEnd,
  isSharedCode,
  type Mark,
  matchValueOf,
} from './mark.core.js';
import { photoState } from './photo.core.js';

const NONE = { size: null, fixedView: null, withScale: null, intervalDays: null };

describe('marks as typed', () => {
  it('stores a transponder as 15 digits, however it was spaced', () => {
    expect(checkMark('transponder', '985 14.1000-123456')).toEqual({
      ok: true,
      value: '985141000123456',
      warning: null,
    });
    expect(checkMark('transponder', '98514100012345')).toMatchObject({ ok: false });
    expect(checkMark('transponder', '900115001234567')).toMatchObject({
      warning: { code: 'SHARED_MANUFACTURER_CODE' },
    });
  });

  it('two readings of one mark have one match value; test transponders and what is no number have none', () => {
    expect(matchValueOf('other_chip', '985-141 000.123456')).toBe(matchValueOf('transponder', '985141000123456'));
    expect(matchValueOf('ring', 'ab 12/7')).toBe('AB127');
    expect(matchValueOf('transponder', '999000000000001')).toBeNull();
    expect(matchValueOf('feature', '985141000123456')).toBeNull();
    expect([isSharedCode('900115001234567'), isSharedCode('985141000123456')]).toEqual([true, false]);
  });

  it('asks a photo documentation for view, scale and interval, and nothing else for them', () => {
    expect(checkDetails('photo_documentation', NONE).map(({ path }) => path)).toEqual([
      'fixedView',
      'withScale',
      'intervalDays',
    ]);
    expect(checkDetails('ring', { ...NONE, size: '8 mm' })).toEqual([]);
    expect(checkDetails('tag', { ...NONE, size: '8 mm', intervalDays: 30 }).map(({ path }) => path)).toEqual([
      'size',
      'intervalDays',
    ]);
  });

  it('does not end before it was set, where the dates are sure of it', () => {
    const span = (earliest: string, latest: string) => ({ earliest: day(earliest), latest: day(latest) });
    expect(decideMarkEnd(span('2026-05-01', '2026-05-01'), span('2026-04-01', '2026-04-30'))).toMatchObject({
      refusal: { rule: 'MARK_ENDS_BEFORE_SET' },
    });
    expect(decideMarkEnd(span('2026-05-01', '2026-05-31'), span('2026-05-10', '2026-05-10')).ok).toBe(true);
    expect(decideMarkEnd(null, span('1990-01-01', '1990-01-01')).ok).toBe(true);
  });

  it('for a past moment the version in force then is read', () => {
    const base = {
      id: 's',
      animalId: 'a',
      kind: 'feature',
      ...NONE,
      when: null,
      recordedBy: 'x',
      reason: null,
    } as const;
    const versions: Mark[] = [
      { ...base, versionId: '1', value: 'short tail', ended: null, recordedAt: new Date(1), supersededAt: new Date(5) },
      {
        ...base,
        versionId: '2',
        value: 'short tail',
        ended: { when: { edtf: '2026-05', earliest: day('2026-05-01'), latest: day('2026-05-31') }, cause: 'regrown' },
        recordedAt: new Date(5),
        supersededAt: null,
      },
    ];
    expect(currentMarks(versions, new Date(3)).map((mark) => mark.versionId)).toEqual(['1']);
    expect(currentMarks(versions, null)).toEqual([]);
  });
});

describe('conflicts', () => {
  it('three animals with one number are three pairs; each pair is opened once', () => {
    const carriers = ['c', 'a', 'b', 'a'].map((animalId) => ({ animalId, value: '1' }));
    const first = reviewConflicts(carriers, []);
    expect(first.opened.map((pair) => pair.animalAId + pair.animalBId).sort()).toEqual(['ab', 'ac', 'bc']);
    expect(reviewConflicts(carriers, first.opened)).toEqual({ opened: [], resolved: [] });
  });

  it('a pair of which one no longer carries the number is resolved, the others stand', () => {
    const all = reviewConflicts(
      ['a', 'b', 'c'].map((animalId) => ({ animalId, value: '1' })),
      [],
    ).opened;
    const left = ['a', 'c'].map((animalId) => ({ animalId, value: '1' }));
    expect(reviewConflicts(left, all).resolved.map((pair) => pair.animalAId + pair.animalBId)).toEqual(['ab', 'bc']);
  });
});

describe('photo documentation', () => {
  const sessions = [
    { id: 'first', takenOn: day('2025-06-01') },
    { id: 'second', takenOn: day('2026-06-10') },
  ];
  const says = (confirmedBy: string, verdict: 'same' | 'different' | 'unsure', sessionId = 'second') => ({
    sessionId,
    earlierSessionId: 'first',
    verdict,
    confirmedBy,
  });

  it('is confirmed by two different people, not by one twice', () => {
    const on = day('2026-07-01');
    expect(photoState(365, [], [], on)).toMatchObject({ standing: 'no_pictures', nextDueOn: null, overdue: false });
    expect(photoState(365, sessions.slice(0, 1), [], on)).toMatchObject({ standing: 'first_pictures', overdue: true });
    expect(photoState(365, sessions, [says('x', 'same')], on)).toMatchObject({
      standing: 'unconfirmed',
      confirmedBy: 1,
    });
    expect(photoState(365, sessions, [says('x', 'same'), says('x', 'same')], on).standing).toBe('unconfirmed');
    expect(photoState(365, sessions, [says('x', 'same'), says('y', 'unsure')], on).standing).toBe('unconfirmed');
    expect(photoState(365, sessions, [says('x', 'same'), says('y', 'same')], on)).toMatchObject({
      standing: 'confirmed',
      confirmedBy: 2,
    });
    expect(photoState(365, sessions, [says('x', 'same'), says('y', 'same'), says('z', 'different')], on).standing).toBe(
      'contradicted',
    );
  });

  it('the next pictures are due after the interval, overdue the day after', () => {
    expect(photoState(30, sessions, [], day('2026-07-10'))).toMatchObject({ nextDueOn: '2026-07-10', overdue: false });
    expect(photoState(30, sessions, [], day('2026-07-11'))).toMatchObject({ overdue: true });
  });
});
