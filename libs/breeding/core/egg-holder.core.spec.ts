import { describe, expect, it } from '@jest/globals';
import { day, type Decision } from '../../kernel/index.js';
import { type EggEvent } from './egg.core.js';
import {
  decideClutchCorrection,
  decideMeantEggs,
  decideUnnumbered,
  eggsSpent,
  type EggInHand,
  eggReadsUntil,
  eggsLeft,
  incubatedDays,
  isApart,
  numbersOf,
} from './egg-holder.core.js';

const ANNA = 'anna';
const BERT = 'bert';
const CLUTCH = { id: 'clutch', keeperId: ANNA, eggCount: 5 };
const UNCOUNTED = { ...CLUTCH, eggCount: null };

function egg(number: number, more: Partial<EggInHand> = {}): EggInHand {
  return { id: `egg-${number}`, number, keeperId: ANNA, since: null, onItsWay: null, over: false, ...more };
}
/** An egg that Bert received. */
const gone = (number: number, more: Partial<EggInHand> = {}) =>
  egg(number, { keeperId: BERT, since: day('2026-06-10'), ...more });

const rule = (decision: Decision<unknown>) => (decision.ok ? null : decision.refusal.rule);
const meant = (
  eggs: EggInHand[],
  mine: string[],
  numbers: number[] | null,
  ending = false,
  clutch: Parameters<typeof decideMeantEggs>[0] = CLUTCH,
) => decideMeantEggs(clutch, eggs, mine, { numbers, ending });

describe('the numbers of a clutch', () => {
  it('go up to what was counted, or to the highest that is recorded where that is more', () => {
    expect(numbersOf(CLUTCH, [])).toEqual([1, 2, 3, 4, 5]);
    expect(numbersOf({ eggCount: 1 }, [egg(3)])).toEqual([1, 2, 3]);
    expect(numbersOf(UNCOUNTED, [egg(3)])).toBeNull();
  });

  it('it is apart once an egg went to somebody, is on its way, or came back', () => {
    expect(isApart(CLUTCH, [egg(1)])).toBe(false);
    for (const other of [gone(2), egg(2, { onItsWay: 'transfer' }), egg(2, { since: day('2026-06-12') })])
      expect(isApart(CLUTCH, [egg(1), other])).toBe(true);
  });
});

describe('which eggs a keeper means', () => {
  it('all of a clutch that never was apart, for the keeper of the clutch alone', () => {
    expect(meant([egg(1)], [ANNA], null)).toEqual({ ok: true, value: { keeperId: ANNA, numbers: null, since: null } });
    expect(rule(meant([egg(1)], [BERT], null))).toBe('EGG_HANDED_ON');
  });

  it('all that are left with them once it is apart: none that ended, none of the other', () => {
    const eggs = [egg(1, { over: true }), gone(2), gone(3)];
    expect(meant(eggs, [ANNA], null)).toMatchObject({ value: { keeperId: ANNA, numbers: [4, 5] } });
    expect(meant(eggs, [BERT], null)).toMatchObject({
      value: { keeperId: BERT, numbers: [2, 3], since: '2026-06-10' },
    });
    expect(rule(meant([gone(1, { over: true })], [BERT], null))).toBe('EGG_HANDED_ON');
  });

  it('an end passes over what is on its way; a candling does not', () => {
    const eggs = [egg(1, { onItsWay: 'transfer' })];
    expect(meant(eggs, [ANNA], null, true)).toMatchObject({ value: { numbers: [2, 3, 4, 5] } });
    expect(meant(eggs, [ANNA], null, false)).toMatchObject({ value: { numbers: [1, 2, 3, 4, 5] } });
  });

  it('named: refused where one is with somebody else, here or without an account', () => {
    expect(meant([gone(2)], [ANNA], [1, 3])).toMatchObject({ value: { keeperId: ANNA, numbers: [1, 3] } });
    for (const away of [gone(2), gone(2, { keeperId: null })]) {
      const refused = meant([away], [ANNA], [1, 2]);
      expect(rule(refused)).toBe('EGG_HANDED_ON');
      expect(refused.ok ? '' : refused.refusal.message).toContain('egg 2.');
    }
  });

  it('who acts for both keepers records for one at a time', () => {
    expect(rule(meant([gone(2)], [ANNA, BERT], [1, 2]))).toBe('EGGS_OF_TWO_KEEPERS');
    expect(meant([gone(2)], [ANNA, BERT], [2])).toMatchObject({ value: { keeperId: BERT } });
  });

  it('what ends an egg on its way is refused by the transfer that carries it', () => {
    const refused = meant([egg(1, { onItsWay: 'transfer-9' })], [ANNA], [1], true);
    expect(refused).toMatchObject({
      refusal: { rule: 'EGG_ON_ITS_WAY', blockers: [{ kind: 'transfer', id: 'transfer-9' }] },
    });
    expect(meant([egg(1, { onItsWay: 'transfer-9' })], [ANNA], [1], false).ok).toBe(true);
  });

  it('of a clutch nobody counted that is apart, its keeper names them; who received some has those', () => {
    expect(rule(meant([gone(2)], [ANNA], null, false, UNCOUNTED))).toBe('EGGS_UNCOUNTED');
    expect(meant([gone(2)], [BERT], null, false, UNCOUNTED)).toMatchObject({
      value: { numbers: [2] },
    });
  });
});

describe('young without the number of their egg', () => {
  const of = (keeperId: string, eggs: EggInHand[], ...young: { eggNumber: number | null; count: number }[]) =>
    rule(decideUnnumbered(CLUTCH, eggs, keeperId, young));
  const one = (eggNumber: number | null) => ({ eggNumber, count: 1 });
  const lot = (count: number) => ({ eggNumber: null, count });
  const apart = [gone(1), gone(2), gone(3)];

  it('are no matter in a clutch that never was apart, whatever the others name', () => {
    expect(of(ANNA, [], one(null))).toBeNull();
    expect(of(ANNA, [egg(1)], one(1), one(null))).toBeNull();
  });

  it('a lot may do without, up to the eggs its keeper has; an individual names its egg', () => {
    expect(of(BERT, apart, one(2))).toBeNull();
    expect(of(BERT, apart, lot(3))).toBeNull();
    expect(of(ANNA, apart, lot(2))).toBeNull();
    for (const young of [one(null), lot(4)]) expect(of(BERT, apart, young)).toBe('HATCHLING_EGG_NOT_SAID');
    expect(of(ANNA, apart, lot(3))).toBe('HATCHLING_EGG_NOT_SAID');
  });

  it('no lot comes out of eggs that others of the young name, have ended, or are on their way', () => {
    expect(of(BERT, apart, one(1), lot(2))).toBeNull();
    expect(of(BERT, apart, one(1), one(2), lot(2))).toBe('HATCHLING_EGG_NOT_SAID');
    expect(of(BERT, [gone(1), gone(2), gone(3, { over: true })], lot(3))).toBe('HATCHLING_EGG_NOT_SAID');
    expect(of(BERT, [gone(1), gone(2), gone(3, { onItsWay: 'transfer-9' })], lot(3))).toBe('HATCHLING_EGG_NOT_SAID');
  });
});

describe('young that named no egg before', () => {
  it('used up eggs that nobody says have ended, after those that hatched without young', () => {
    expect(eggsSpent(3, 0)).toBe(3);
    expect(eggsSpent(3, 2)).toBe(1);
    expect(eggsSpent(1, 2)).toBe(0);
    const apart = [gone(1), gone(2), gone(3)];
    const lot = [{ eggNumber: null, count: 2 }];
    expect(rule(decideUnnumbered(CLUTCH, apart, BERT, lot, 1))).toBeNull();
    expect(rule(decideUnnumbered(CLUTCH, apart, BERT, lot, 2))).toBe('HATCHLING_EGG_NOT_SAID');
  });
});

describe('a clutch whose eggs went on', () => {
  it('is not taken back, and keeps the numbers others have', () => {
    const of = (correction: Parameters<typeof decideClutchCorrection>[2], eggs = [gone(3)]) =>
      rule(decideClutchCorrection(CLUTCH, eggs, correction));
    expect(of({ takeBack: true })).toBe('CLUTCH_EGGS_HANDED_ON');
    expect(of({ takeBack: false, eggCount: 2 })).toBe('CLUTCH_EGGS_HANDED_ON');
    expect(of({ takeBack: false, eggCount: 3 })).toBeNull();
    expect(of({ takeBack: false, eggCount: null })).toBe('CLUTCH_EGGS_HANDED_ON');
    expect(of({ takeBack: false })).toBeNull();
    expect(of({ takeBack: true }, [egg(3)])).toBeNull();
  });
});

describe('the eggs of a clutch in one place', () => {
  const here = (each: EggInHand, is = true) => ({ ...each, here: is });
  const at = { keeperId: ANNA, othersHere: true, hatched: false };

  it('all that are left, while none is known to be elsewhere', () => {
    expect(eggsLeft(CLUTCH, [here(egg(1))], at)).toBeNull();
    expect(eggsLeft(UNCOUNTED, [], at)).toBeNull();
  });

  it('without those that ended, went on, are on their way or elsewhere', () => {
    const eggs = [
      here(egg(1, { over: true })),
      here(gone(2)),
      here(egg(3, { onItsWay: 'transfer' })),
      here(egg(4), false),
    ];
    expect(eggsLeft(CLUTCH, eggs, at)).toEqual([5]);
    expect(eggsLeft(UNCOUNTED, eggs, at)).toBeUndefined();
  });

  it('whoever received some has those alone, and its keeper none of them', () => {
    const eggs = [here(gone(2)), here(gone(3), false)];
    expect(eggsLeft(CLUTCH, eggs, { ...at, keeperId: BERT, othersHere: false })).toEqual([2]);
    expect(eggsLeft(UNCOUNTED, eggs, { ...at, keeperId: BERT, othersHere: false })).toEqual([2]);
    expect(eggsLeft(CLUTCH, eggs, { ...at, othersHere: false })).toEqual([]);
  });

  it('of an uncounted clutch with young, only what is recorded one by one', () => {
    const eggs = [here(egg(1, { over: true })), here(egg(2))];
    expect(eggsLeft(UNCOUNTED, eggs, { ...at, hatched: true })).toEqual([2]);
  });
});

describe('days of incubation', () => {
  const event = (kind: EggEvent['kind'], earliest: string | null, latest: string | null): EggEvent => ({
    id: kind,
    kind,
    wholeClutch: false,
    when: { earliest: earliest === null ? null : day(earliest), latest: latest === null ? null : day(latest) },
    recorded: 1,
  });

  it('are a range where the first day is', () => {
    const events = [event('incubated', '2026-06-02', '2026-06-04'), event('candled', '2026-06-08', '2026-06-08')];
    expect(incubatedDays(events, day('2026-06-10'))).toEqual({ least: 6, most: 8 });
  });

  it('have no limit where the first day is not known, and are none where no incubation is recorded', () => {
    expect(incubatedDays([event('incubated', null, null)], day('2026-06-10'))).toEqual({ least: 0, most: null });
    expect(incubatedDays([event('candled', '2026-06-08', '2026-06-08')], day('2026-06-10'))).toBeNull();
  });
});

describe('up to when somebody reads an egg', () => {
  const [first, second] = [new Date('2026-06-10T10:00:00Z'), new Date('2026-06-20T10:00:00Z')];
  const periods = [
    { keeperId: BERT, recordedAt: first, endRecorded: second },
    { keeperId: 'cora', recordedAt: second, endRecorded: null },
  ];

  it('whoever has it, to this day; whoever had it, until it went on', () => {
    expect(eggReadsUntil(periods, ANNA, ['cora'], null)).toBeNull();
    expect(eggReadsUntil(periods, ANNA, [BERT], null)).toEqual(second);
    expect(eggReadsUntil(periods, ANNA, [ANNA], null)).toEqual(first);
    expect(eggReadsUntil([], ANNA, [ANNA], null)).toBeNull();
  });

  it('others up to what was shared with them', () => {
    const shared = new Date('2026-06-05T10:00:00Z');
    expect(eggReadsUntil(periods, ANNA, ['dora'], shared)).toEqual(shared);
    expect(eggReadsUntil(periods, ANNA, ['dora'], null)).toEqual(first);
  });
});
