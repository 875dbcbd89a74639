import { describe, expect, it } from '@jest/globals';
import { candidatesShown, claimsShown, type RecordedClaim } from './claims-shown.core.js';

const at = (year: number): Date => new Date(`${year}-01-01T00:00:00Z`);
const claim = (id: string, more: Partial<RecordedClaim> = {}): RecordedClaim => ({
  id,
  ownerId: 'kept',
  role: 'sire',
  basis: 'declared',
  withoutSire: false,
  candidates: [],
  recordedAt: at(2020),
  supersededAt: null,
  ...more,
});

describe('claimsShown', () => {
  it('takes its own claim, and that of a merged record only where it has none for the role', () => {
    const claims = [
      claim('other sire', { ownerId: 'merged' }),
      claim('sire'),
      claim('dam', { ownerId: 'merged', role: 'dam' }),
    ];
    expect(claimsShown('kept', claims, null).map(({ id }) => id)).toEqual(['sire', 'dam']);
  });

  it('shows a past moment what was in force then, and nothing of records merged since', () => {
    const claims = [
      claim('first', { supersededAt: at(2022) }),
      claim('second', { recordedAt: at(2022) }),
      claim('dam', { ownerId: 'merged', role: 'dam' }),
    ];
    expect(claimsShown('kept', claims, at(2021)).map(({ id }) => id)).toEqual(['first']);
    expect(claimsShown('kept', claims, null).map(({ id }) => id)).toEqual(['second', 'dam']);
  });
});

describe('candidatesShown', () => {
  const candidates = [
    { parentId: 'a', keptId: 'b', probability: 0.25 },
    { parentId: 'b', keptId: 'b', probability: 0.25 },
    { parentId: 'c', keptId: 'c', probability: 0.5 },
  ];
  it('counts two records of one animal together now, and apart at a moment before', () => {
    expect(candidatesShown({ candidates }, null)).toEqual([
      { id: 'b', probability: 0.5 },
      { id: 'c', probability: 0.5 },
    ]);
    expect(candidatesShown({ candidates }, at(2021)).map(({ id }) => id)).toEqual(['c', 'a', 'b']);
  });
});
