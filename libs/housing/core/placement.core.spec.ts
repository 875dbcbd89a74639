import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { addDays, containsDay, day, type Day } from '../../kernel/index.js';
import { decidePlacement, decideStay, type PlacementFacts, quarantineWarnings, type Stay } from './placement.core.js';

const TODAY = day('2026-06-10');
const HELD: PlacementFacts = { animalId: 'a', heldFrom: day('2026-01-10'), stays: [] };

function stay(from: string, to: string | null, ownEnclosure: string | null = 'Pond'): Stay {
  return { id: `stay ${from}`, from: day(from), to: to === null ? null : day(to), ownEnclosure };
}

const decided = (stays: Stay[], from: string, to: string | null = null, more: Partial<PlacementFacts> = {}) =>
  decidePlacement({ ...HELD, ...more, stays }, { from: day(from), to: to === null ? null : day(to) }, TODAY);
const rule = (answer: ReturnType<typeof decided>) => (answer.ok ? null : answer.refusal.rule);

describe('placing an animal in an enclosure', () => {
  it('an animal that was nowhere ends no stay', () => {
    expect(decided([], '2026-01-10')).toEqual({ ok: true, value: { ends: null } });
  });

  it('the stay before ends on the day of the move, also on the day it began', () => {
    const ends = (on: string) => ({ ok: true, value: { ends: { stayId: 'stay 2026-02-01', on } } });
    expect(decided([stay('2026-02-01', null)], '2026-03-01')).toEqual(ends('2026-03-01'));
    expect(decided([stay('2026-02-01', null)], '2026-02-01')).toEqual(ends('2026-02-01'));
  });

  it('a stay with an earlier keeper ended when the animal left them', () => {
    expect(decided([stay('2025-02-01', null, null)], '2026-03-01')).toMatchObject({
      value: { ends: { on: '2026-01-10' } },
    });
  });

  it.each([
    ['a day to come', [], '2026-06-11', null, 'DAY_IN_FUTURE'],
    ['an end to come', [], '2026-06-01', '2026-06-11', 'DAY_IN_FUTURE'],
    ['an end before the beginning', [], '2026-06-01', '2026-05-31', 'STAY_DAYS_REVERSED'],
    ['a day before the keeper had it', [], '2026-01-09', null, 'PLACED_BEFORE_HELD'],
    ['a day before the present stay', [stay('2026-02-01', null)], '2026-01-31', null, 'PLACEMENT_DAY_TOO_EARLY'],
  ] as const)('refuses %s', (_, stays, from, to, expected) => {
    expect(rule(decided([...stays], from, to))).toBe(expected);
  });

  it('refuses an animal the keeper does not have', () => {
    expect(rule(decided([], '2026-03-01', null, { heldFrom: null }))).toBe('PLACED_BEFORE_HELD');
  });

  it('refuses one day in common and names the other stay', () => {
    const pond = stay('2026-02-01', '2026-03-01');
    const answer = decided([pond], '2026-01-15', '2026-02-02');
    expect(answer).toMatchObject({ refusal: { rule: 'PLACEMENT_OVERLAPS' } });
    expect(answer.ok ? '' : answer.refusal.message).toContain('in "Pond" from 2026-02-01 until 2026-03-01');
    expect(answer.ok ? [] : answer.refusal.blockers?.map(({ id }) => id)).toContain(pond.id);
    expect(decided([pond], '2026-01-15', '2026-02-01').ok).toBe(true);
    expect(decided([pond], '2026-03-01', '2026-03-05').ok).toBe(true);
    expect(rule(decided([pond], '2026-02-28', '2026-03-05'))).toBe('PLACEMENT_OVERLAPS');
  });

  it('a past stay ends nothing, and overlaps the present one from its first day on', () => {
    expect(decided([stay('2026-02-01', null)], '2026-01-15', '2026-02-01')).toEqual({
      ok: true,
      value: { ends: null },
    });
    expect(rule(decided([stay('2026-02-01', null)], '2026-01-15', '2026-02-02'))).toBe('PLACEMENT_OVERLAPS');
  });

  it('the name of an earlier keeper’s enclosure is not told', () => {
    const answer = decided([stay('2026-02-01', '2026-03-01', null)], '2026-02-10', '2026-02-12');
    expect(answer.ok ? '' : answer.refusal.message).toContain('in an enclosure of an earlier keeper');
  });
});

describe('correcting a stay', () => {
  const corrected = (from: string, to: string | null, others: Stay[]) =>
    decideStay(
      { animalId: 'a', heldFrom: HELD.heldFrom, from: day(from), to: to === null ? null : day(to) },
      others,
      TODAY,
    );

  it('to days that are free', () => {
    expect(corrected('2026-02-01', '2026-03-01', [stay('2026-03-01', null)]).ok).toBe(true);
    expect(corrected('2026-02-01', '2026-03-02', [stay('2026-03-01', null)])).toMatchObject({
      refusal: { rule: 'PLACEMENT_OVERLAPS' },
    });
    expect(corrected('2026-01-01', null, [])).toMatchObject({ refusal: { rule: 'PLACED_BEFORE_HELD' } });
  });
});

it('property: whatever is placed, an animal is in at most one enclosure on any day', () => {
  const start = day('2026-01-10');
  const step = fc.tuple(fc.integer({ min: 0, max: 150 }), fc.option(fc.integer({ min: 0, max: 40 }), { nil: null }));
  fc.assert(
    fc.property(fc.array(step, { maxLength: 12 }), (steps) => {
      let stays: Stay[] = [];
      for (const [offset, length] of steps) {
        const from = addDays(start, offset);
        const to: Day | null = length === null ? null : addDays(from, length);
        const answer = decidePlacement({ ...HELD, stays }, { from, to }, TODAY);
        if (!answer.ok) continue;
        const { ends } = answer.value;
        stays = stays.map((each) => (each.id === ends?.stayId ? { ...each, to: ends.on } : each));
        stays.push({ id: `stay ${stays.length}`, from, to, ownEnclosure: 'x' });
      }
      for (let offset = 0; offset < 200; offset += 1) {
        const on = addDays(start, offset);
        expect(stays.filter((each) => containsDay(each, on)).length).toBeLessThanOrEqual(1);
      }
    }),
  );
});

describe('quarantine', () => {
  const warned = (...groups: (string | null)[]) =>
    quarantineWarnings('Pond', new Map(groups.map((group, i) => [`animal ${i}`, group])));

  it('animals of one group, or none in quarantine, warn of nothing', () => {
    expect(warned()).toEqual([]);
    expect(warned(null, null)).toEqual([]);
    expect(warned('g', 'g')).toEqual([]);
  });

  it('one in quarantine with one that is not, or of another group, warns', () => {
    expect(warned('g', null)).toMatchObject([{ code: 'QUARANTINE_MIXED' }]);
    expect(warned('g', 'h')).toHaveLength(1);
    expect(warned('g', null, null)[0]?.message).toContain('1 of 3');
  });
});
