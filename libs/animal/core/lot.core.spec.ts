import { describe, expect, it } from '@jest/globals';
import { day } from '../../kernel/index.js';
import type { When } from './fact.core.js';
import {
  decideFound,
  decideGone,
  decideJoin,
  decideLoss,
  decideRecount,
  decideSplit,
  type JoinFacts,
  joinedBirth,
} from './lot.core.js';

const rule = (decision: { ok: boolean; refusal?: { rule: string } }) => decision.refusal?.rule;

describe('taking animals out of a lot', () => {
  const lot = { kind: 'lot' as const, count: 10 };

  it('leaves the rest', () => {
    expect(decideSplit(lot, 4)).toEqual({ ok: true, value: { left: 6 } });
    expect(decideLoss(lot, 10)).toEqual({ ok: true, value: { left: 0 } });
  });

  it('refuses more than there is, nothing, parts of animals, and an individual', () => {
    expect(rule(decideLoss(lot, 11))).toBe('LOT_TOO_SMALL');
    expect(rule(decideLoss(lot, 0))).toBe('LOT_COUNT_INVALID');
    expect(rule(decideLoss(lot, 1.5))).toBe('LOT_COUNT_INVALID');
    expect(rule(decideSplit({ kind: 'individual', count: 1 }, 1))).toBe('NOT_A_LOT');
  });

  it('does not split off everything: that is moving the lot', () => {
    expect(rule(decideSplit(lot, 10))).toBe('LOT_SPLIT_TAKES_ALL');
  });
});

describe('lots that grow, shrink and join', () => {
  const lot = { kind: 'lot' as const, count: 5, countEstimated: true };

  it('not all of a lot go missing one by one, and no more come back than went', () => {
    expect(decideGone(lot, 4)).toEqual({ ok: true, value: { left: 1 } });
    expect(decideGone(lot, 5)).toMatchObject({ refusal: { rule: 'LOT_LOSS_TAKES_ALL' } });
    expect(decideFound(lot, 3, 3)).toEqual({ ok: true, value: { left: 8 } });
    expect(decideFound(lot, 4, 3)).toMatchObject({ refusal: { rule: 'LOT_FOUND_TOO_MANY' } });
  });

  it('a recount says by how much, also when only the guess becomes a count', () => {
    expect(decideRecount(lot, 7, false)).toEqual({ ok: true, value: { delta: 2 } });
    expect(decideRecount(lot, 5, false)).toEqual({ ok: true, value: { delta: 0 } });
    expect(decideRecount(lot, 5, true)).toMatchObject({ refusal: { rule: 'LOT_COUNT_SAME' } });
    expect(decideRecount(lot, 0, true)).toMatchObject({ refusal: { rule: 'LOT_COUNT_INVALID' } });
  });

  it('lots of one taxon and line are joined, others not', () => {
    const one = { ...lot, id: 'a', taxonId: 't', lineId: null, fate: 'alive' };
    expect(decideJoin(one, { ...one, id: 'b' }).ok).toBe(true);
    const rule = (other: Partial<JoinFacts>) => decideJoin(one, { ...one, id: 'b', ...other });
    expect(rule({ taxonId: 'u' })).toMatchObject({ refusal: { rule: 'LOT_JOIN_OTHER_TAXON' } });
    expect(rule({ lineId: 'l' })).toMatchObject({ refusal: { rule: 'LOT_JOIN_OTHER_LINE' } });
    expect(rule({ id: 'a' })).toMatchObject({ refusal: { rule: 'LOT_JOIN_SELF' } });
    expect(rule({ fate: 'missing' })).toMatchObject({ refusal: { rule: 'ANIMAL_NOT_ALIVE' } });
    expect(rule({ kind: 'individual', count: 1 })).toMatchObject({ refusal: { rule: 'NOT_A_LOT' } });
  });

  it('the birth of what they become spans both', () => {
    const when = (edtf: string, earliest: string | null, latest: string | null): When => ({
      edtf,
      earliest: earliest === null ? null : day(earliest),
      latest: latest === null ? null : day(latest),
    });
    const may = when('2026-05', '2026-05-01', '2026-05-31');
    expect(joinedBirth(may, may)).toEqual(may);
    expect(joinedBirth(may, when('2026-04-10', '2026-04-10', '2026-04-10'))).toEqual(
      when('2026-04-10/2026-05-31', '2026-04-10', '2026-05-31'),
    );
    expect(joinedBirth(may, when('../2026-06-02', null, '2026-06-02'))).toEqual(
      when('../2026-06-02', null, '2026-06-02'),
    );
    expect(joinedBirth(may, null)).toBeNull();
  });
});
