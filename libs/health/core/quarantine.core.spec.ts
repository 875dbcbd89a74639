import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { addDays, type Day, day } from '../../kernel/index.js';
import {
  animalState,
  endOf,
  endsReached,
  groupEnd,
  groupState,
  type Quarantine,
  type QuarantineEntry,
  RESTART_SCOPES,
} from './quarantine.core.js';

const ORDERS = {
  gecko: ['Squamata', 'Reptilia'],
  tortoise: ['Testudines', 'Reptilia'],
  frog: ['Anura', 'Amphibia'],
} as const;

function entry(
  animalId: string,
  enteredOn: string,
  leftOn: string | null = null,
  kind: keyof typeof ORDERS = 'gecko',
): QuarantineEntry {
  const [orderName, className] = ORDERS[kind];
  return { animalId, orderName, className, enteredOn: day(enteredOn), leftOn: leftOn === null ? null : day(leftOn) };
}

function group(entries: QuarantineEntry[], change: Partial<Quarantine> = {}): Quarantine {
  return { days: 30, restartScope: 'order', released: null, entries, ...change };
}

const on = (text: string): Day => day(text);

describe('the clock of a group', () => {
  it('ends the days after the entry, which is day 0', () => {
    const alone = group([entry('A', '2026-01-01')]);
    expect(groupState(alone, on('2025-12-31'))).toEqual({ kind: 'not_yet' });
    expect(groupState(alone, on('2026-01-30'))).toEqual({ kind: 'in_quarantine', until: '2026-01-31' });
    expect(groupState(alone, on('2026-01-31'))).toEqual({ kind: 'ended', on: '2026-01-31' });
  });

  it('starts anew for all of an order when one of it joins, from the day it does', () => {
    const two = group([entry('A', '2026-01-01'), entry('B', '2026-01-20')]);
    expect(animalState(two, 'A', on('2026-01-19'))).toEqual({ kind: 'in_quarantine', until: '2026-01-31' });
    for (const animal of ['A', 'B'])
      expect(animalState(two, animal, on('2026-01-31'))).toEqual({ kind: 'in_quarantine', until: '2026-02-19' });
  });

  it.each([
    ['order', '2026-01-31', '2026-01-31'],
    ['class', '2026-02-09', '2026-01-31'],
    ['any', '2026-02-14', '2026-02-14'],
  ] as const)(
    'with scope %s a tortoise on day 9 and a frog on day 14 move the gecko to %s or not',
    (restartScope, gecko, alone) => {
      const entries = [
        entry('gecko', '2026-01-01'),
        entry('tortoise', '2026-01-10', null, 'tortoise'),
        entry('frog', '2026-01-15', null, 'frog'),
      ];
      const [first = entry('', '2026-01-01')] = entries;
      expect(endOf(group(entries, { restartScope }), first, on('2026-03-01'))).toBe(gecko);
      const withFrog = entries.filter(({ animalId }) => animalId !== 'tortoise');
      expect(endOf(group(withFrog, { restartScope }), first, on('2026-03-01'))).toBe(alone);
    },
  );

  it('gives an animal outside the scope its own clock; the group lasts until the last one is out', () => {
    const mixed = group([entry('A', '2026-01-01'), entry('T', '2026-01-10', null, 'tortoise')]);
    expect(animalState(mixed, 'A', on('2026-02-01'))).toEqual({ kind: 'ended', on: '2026-01-31' });
    expect(animalState(mixed, 'T', on('2026-02-01'))).toEqual({ kind: 'in_quarantine', until: '2026-02-09' });
    expect(groupState(mixed, on('2026-02-01'))).toEqual({ kind: 'in_quarantine', until: '2026-02-09' });
    expect(groupEnd(mixed, on('2026-02-01'))).toBe('2026-02-09');
    expect(endsReached(mixed, on('2026-02-01'))).toEqual([{ on: '2026-01-31', animalIds: ['A'] }]);
    expect(endsReached(mixed, on('2026-02-09'))).toEqual([
      { on: '2026-01-31', animalIds: ['A'] },
      { on: '2026-02-09', animalIds: ['T'] },
    ]);
  });

  it('is restarted by a newcomer that has left again, but not for one that had left before', () => {
    const visited = group([
      entry('A', '2026-01-01'),
      entry('early', '2026-01-01', '2026-01-10'),
      entry('guest', '2026-01-15', '2026-01-16'),
    ]);
    expect(animalState(visited, 'A', on('2026-01-20'))).toEqual({ kind: 'in_quarantine', until: '2026-02-14' });
    expect(animalState(visited, 'early', on('2026-01-20'))).toEqual({ kind: 'left', on: '2026-01-10' });
    expect(animalState(visited, 'guest', on('2026-01-15'))).toEqual({ kind: 'in_quarantine', until: '2026-02-14' });
  });
});

describe('leaving and release', () => {
  const released = { on: on('2026-01-10'), reason: 'two negatives' };

  it('tells an early release with its reason from a death and from days that were over', () => {
    const early = group([entry('A', '2026-01-01', '2026-01-10'), entry('dead', '2026-01-01', '2026-01-05')], {
      released,
    });
    expect(animalState(early, 'A', on('2026-01-09'))).toEqual({ kind: 'in_quarantine', until: '2026-01-31' });
    expect(animalState(early, 'A', on('2026-01-10'))).toEqual({ kind: 'released_early', ...released });
    expect(animalState(early, 'dead', on('2026-01-10'))).toEqual({ kind: 'left', on: '2026-01-05' });
    expect(groupState(early, on('2026-03-01'))).toEqual({ kind: 'released_early', ...released });
    const late = group([entry('A', '2026-01-01', '2026-02-03')]);
    expect(groupState(late, on('2026-03-01'))).toEqual({ kind: 'ended', on: '2026-01-31' });
  });

  it('has a group that everybody left', () => {
    const empty = group([entry('A', '2026-01-01', '2026-01-04'), entry('B', '2026-01-01', '2026-01-07')]);
    expect(groupState(empty, on('2026-01-06'))).toEqual({ kind: 'in_quarantine', until: '2026-01-31' });
    expect(groupState(empty, on('2026-01-07'))).toEqual({ kind: 'left', on: '2026-01-07' });
    expect(endsReached(empty, on('2026-03-01'))).toEqual([]);
  });

  it('lets the latest stay of an animal decide', () => {
    const twice = group([entry('A', '2026-01-01', '2026-01-04'), entry('A', '2026-01-10')]);
    expect(animalState(twice, 'A', on('2026-01-05'))).toEqual({ kind: 'left', on: '2026-01-04' });
    expect(animalState(twice, 'A', on('2026-01-12'))).toEqual({ kind: 'in_quarantine', until: '2026-02-09' });
  });
});

describe('laws', () => {
  const START = on('2026-01-01');
  const dayArbitrary = fc.integer({ min: 0, max: 120 }).map((offset) => addDays(START, offset));
  const entryArbitrary = fc
    .tuple(
      fc.constantFrom('A', 'B', 'C', 'D', 'E'),
      dayArbitrary,
      fc.option(fc.integer({ min: 0, max: 60 })),
      fc.constantFrom('gecko', 'tortoise', 'frog'),
    )
    .map(([animalId, enteredOn, stay, kind]) =>
      entry(animalId, enteredOn, stay === null ? null : addDays(enteredOn, stay), kind),
    );
  const groupArbitrary = fc
    .tuple(
      fc.array(entryArbitrary, { minLength: 1, maxLength: 8 }),
      fc.integer({ min: 1, max: 90 }),
      fc.constantFrom(...RESTART_SCOPES),
    )
    .map(([entries, days, restartScope]) => group(entries, { days, restartScope }));

  it('adding an entry never brings an end day forward', () => {
    fc.assert(
      fc.property(groupArbitrary, entryArbitrary, dayArbitrary, (before, added, today) => {
        const after = { ...before, entries: [...before.entries, added] };
        for (const each of before.entries) expect(endOf(after, each, today) >= endOf(before, each, today)).toBe(true);
        expect((groupEnd(after, today) ?? '') >= (groupEnd(before, today) ?? '')).toBe(true);
      }),
    );
  });

  it('an animal is in quarantine for its own days at least, and a wider scope is never shorter', () => {
    fc.assert(
      fc.property(groupArbitrary, dayArbitrary, (one, today) => {
        for (const each of one.entries) {
          const [order, byClass, any] = RESTART_SCOPES.map((restartScope) =>
            endOf({ ...one, restartScope }, each, today),
          );
          expect(order !== undefined && byClass !== undefined && any !== undefined).toBe(true);
          expect(addDays(each.enteredOn, one.days) <= (order ?? '')).toBe(true);
          expect((order ?? '') <= (byClass ?? '') && (byClass ?? '') <= (any ?? '')).toBe(true);
        }
      }),
    );
  });
});
