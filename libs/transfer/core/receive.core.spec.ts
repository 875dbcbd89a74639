import { describe, expect, it } from '@jest/globals';
import { type Day, day } from '../../kernel/index.js';
import { receiveTransfer } from './receive.core.js';
import { type AnimalAtHand, type Arrival, type ArrivalState, type Transfer } from './transfer.core.js';
import { animal, facts, item, offered, sent } from './transfer-fixtures.js';

const CLOCK = { now: new Date('2026-06-10T10:00:00Z'), today: day('2026-06-10') };
const ON = day('2026-06-07');
const lotOf = (count: number): AnimalAtHand => animal('l', { kind: 'lot', count });

function receive(
  transfer: Transfer,
  at: AnimalAtHand[],
  items: [string, Partial<Record<ArrivalState, number>>][],
  on: Day = ON,
) {
  const arrivals = items.map(([animalId, counts]) => ({
    animalId,
    arrivals: Object.entries(counts).map(([state, count]) => ({ state, count }) as Arrival),
  }));
  return receiveTransfer(transfer, { on, items: arrivals }, facts(...at), CLOCK);
}

function stepsOf(at: AnimalAtHand, offeredCount: number, counts: Partial<Record<ArrivalState, number>>) {
  const result = receive(sent(item(at.id, offeredCount)), [at], [[at.id, counts]]);
  if (!result.ok) throw new Error(result.refusal.message);
  return result.value.plans[0]?.steps;
}

describe('receiveTransfer of individuals', () => {
  it('closes the transfer with its days and arrivals', () => {
    const result = receive(sent(item('a')), [animal('a')], [['a', { well: 1 }]]);
    expect(result).toMatchObject({
      ok: true,
      value: {
        transfer: {
          state: 'received',
          sentOn: '2026-06-05',
          receivedOn: ON,
          items: [{ arrivals: [{ state: 'well', count: 1 }] }],
        },
      },
    });
  });

  it.each([
    ['well', [{ do: 'move' }]],
    ['ill', [{ do: 'move' }]],
    ['not_as_described', [{ do: 'move' }]],
    ['dead', [{ do: 'move' }, { do: 'die', count: 1 }]],
    ['missing', [{ do: 'mark_missing' }]],
    ['refused', []],
  ] as const)('given one that arrives %s', (state, steps) => {
    expect(stepsOf(animal('a'), 1, { [state]: 1 })).toEqual(steps);
  });
});

describe('receiveTransfer of lots', () => {
  it('given twelve of which one is dead, moves all and records the death with the receiver', () => {
    expect(stepsOf(lotOf(12), 12, { well: 11, dead: 1 })).toEqual([{ do: 'move' }, { do: 'die', count: 1 }]);
  });

  it('given some missing and some refused, splits each off before the rest moves', () => {
    expect(stepsOf(lotOf(12), 12, { well: 6, ill: 1, missing: 2, refused: 3 })).toEqual([
      { do: 'split_back', count: 2, missing: true },
      { do: 'split_back', count: 3, missing: false },
      { do: 'move' },
    ]);
  });

  it('given all dead, all move and die', () => {
    expect(stepsOf(lotOf(4), 4, { dead: 4 })).toEqual([{ do: 'move' }, { do: 'die', count: 4 }]);
  });

  it('given all refused, nothing happens; all missing, the lot is missing; both, only the missing are split off', () => {
    expect(stepsOf(lotOf(4), 4, { refused: 4 })).toEqual([]);
    expect(stepsOf(lotOf(4), 4, { missing: 4 })).toEqual([{ do: 'mark_missing' }]);
    expect(stepsOf(lotOf(4), 4, { refused: 3, missing: 1 })).toEqual([{ do: 'split_back', count: 1, missing: true }]);
  });

  it('given a lot that lost two on the way, the counts must sum to what is left', () => {
    expect(stepsOf(lotOf(10), 12, { well: 10 })).toEqual([{ do: 'move' }]);
    expect(receive(sent(item('l', 12)), [lotOf(10)], [['l', { well: 12 }]])).toMatchObject({
      refusal: {
        rule: 'TRANSFER_ARRIVALS_INCOMPLETE',
        message: expect.stringContaining('12 were offered, the record counts 10 now'),
      },
    });
  });
});

describe('what receiveTransfer refuses', () => {
  const one = sent(item('a'), item('b'));
  const both = [animal('a'), animal('b')];

  it.each([
    ['an animal nothing is said of', [['a', { well: 1 }]], 'input.items'],
    [
      'a count that does not sum up',
      [
        ['a', { well: 1 }],
        ['b', { well: 1, dead: 1 }],
      ],
      'input.items.1.arrivals',
    ],
    [
      'an animal of another transfer',
      [
        ['a', { well: 1 }],
        ['b', { well: 1 }],
        ['c', { well: 1 }],
      ],
      'input.items.2.animalId',
    ],
    [
      'an animal named twice',
      [
        ['a', { well: 1 }],
        ['b', { well: 1 }],
        ['a', { dead: 1 }],
      ],
      'input.items.2.animalId',
    ],
  ] as [string, [string, Partial<Record<ArrivalState, number>>][], string][])('given %s', (_, items, path) => {
    expect(receive(one, both, items)).toMatchObject({
      ok: false,
      refusal: { rule: 'TRANSFER_ARRIVALS_INCOMPLETE', fields: [{ path }] },
    });
  });

  it('given a day before sending, or in the future', () => {
    expect(receive(sent(item('a')), [animal('a')], [['a', { well: 1 }]], day('2026-06-04'))).toMatchObject({
      refusal: { rule: 'TRANSFER_RECEIVED_BEFORE_SENT' },
    });
    expect(receive(sent(item('a')), [animal('a')], [['a', { well: 1 }]], day('2026-06-11'))).toMatchObject({
      refusal: { rule: 'TRANSFER_RECEIVED_IN_FUTURE' },
    });
  });

  it('given a transfer that is not on its way', () => {
    expect(receive(offered(item('a')), [animal('a')], [['a', { well: 1 }]])).toMatchObject({
      refusal: { rule: 'TRANSFER_NOT_SENT' },
    });
  });

  it('given an animal recorded dead on the way, it can arrive dead but not alive, and its record is left as it is', () => {
    const gone = animal('a', { fate: 'dead', holderKeeperId: null });
    expect(receive(sent(item('a')), [gone], [['a', { well: 1 }]])).toMatchObject({
      refusal: { rule: 'TRANSFER_ANIMAL_GONE', blockers: [{ id: 'a' }] },
    });
    expect(stepsOf(gone, 1, { dead: 1 })).toEqual([]);
  });
});
