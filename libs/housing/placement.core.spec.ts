import { describe, expect, it } from '@jest/globals';
import { day } from '../kernel/index.js';
import { decidePlacement, type PlacementFacts } from './placement.core.js';

const TODAY = day('2026-06-10');
const HELD: PlacementFacts = { animalId: 'a', heldFrom: day('2026-01-10'), stay: null };

const decided = (facts: Partial<PlacementFacts>, from: string) =>
  decidePlacement({ ...HELD, ...facts }, day(from), TODAY);
const rule = (answer: ReturnType<typeof decided>) => (answer.ok ? null : answer.refusal.rule);

describe('placing an animal in an enclosure', () => {
  it('an animal that was nowhere ends no stay', () => {
    expect(decided({}, '2026-01-10')).toEqual({ ok: true, value: { endsOn: null } });
  });

  it('the stay before ends on the day of the move, also on the day it began', () => {
    const stay = { from: day('2026-02-01'), ownEnclosure: true };
    expect(decided({ stay }, '2026-03-01')).toEqual({ ok: true, value: { endsOn: '2026-03-01' } });
    expect(decided({ stay }, '2026-02-01')).toEqual({ ok: true, value: { endsOn: '2026-02-01' } });
  });

  it('a stay with an earlier keeper ended when the animal left them', () => {
    const stay = { from: day('2025-02-01'), ownEnclosure: false };
    expect(decided({ stay }, '2026-03-01')).toEqual({ ok: true, value: { endsOn: '2026-01-10' } });
  });

  it.each([
    ['a day to come', {}, '2026-06-11', 'DAY_IN_FUTURE'],
    ['a day before the keeper had it', {}, '2026-01-09', 'PLACED_BEFORE_HELD'],
    ['an animal the keeper does not have', { heldFrom: null }, '2026-03-01', 'PLACED_BEFORE_HELD'],
    [
      'a day before the present stay',
      { stay: { from: day('2026-02-01'), ownEnclosure: true } },
      '2026-01-31',
      'PLACEMENT_DAY_TOO_EARLY',
    ],
  ] as const)('refuses %s', (_, facts, from, expected) => {
    expect(rule(decided(facts, from))).toBe(expected);
  });
});
