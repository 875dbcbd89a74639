import { describe, expect, it } from '@jest/globals';
import { day, type Decision } from '../../kernel/index.js';
import {
  type EggArrival,
  type EggAtHand,
  eggSendProblem,
  landingOf,
  leaveOutEggs,
  pendingEggs,
  receiveEggs,
  withEggs,
} from './transfer-eggs.core.js';
import { ARRIVAL_STATES, type SentTransfer, type TransferEgg } from '../core/transfer.core.js';
import { GIVER, RECEIVER, sent } from '../core/transfer-fixtures.js';

const ON = day('2026-06-10');

function egg(number: number, more: Partial<TransferEgg> = {}): TransferEgg {
  return { eggId: `egg-${number}`, clutchId: 'c', number, arrival: null, receivedOn: null, notSent: false, ...more };
}
const carrying = (...eggs: TransferEgg[]): SentTransfer => ({ ...sent(), eggs });
const said = (state: EggArrival['state'], ...numbers: number[]): EggArrival => ({ clutchId: 'c', numbers, state });
const receive = (transfer: SentTransfer, arrivals: EggArrival[], moreToCome = false) =>
  receiveEggs(transfer, arrivals, { on: ON, moreToCome });
const refusalOf = (decision: Decision<unknown>) => (decision.ok ? null : decision.refusal);
const paths = (decision: Decision<unknown>) => (refusalOf(decision)?.fields ?? []).map(({ path }) => path);

describe('eggs that are to be sent', () => {
  const at = (more: Partial<EggAtHand> = {}): EggAtHand => ({ keeperId: GIVER, since: null, over: false, ...more });
  const problem = (...known: [string, EggAtHand][]) => eggSendProblem(carrying(egg(1), egg(2)), new Map(known), ON);

  it('can go while the giver has them and none has ended', () => {
    expect(problem(['egg-1', at()], ['egg-2', at()]).ok).toBe(true);
  });

  it.each([
    ['has ended', [['egg-2', at({ over: true })]]],
    ['is with somebody else', [['egg-2', at({ keeperId: RECEIVER })]]],
    ['is with somebody without an account', [['egg-2', at({ keeperId: null })]]],
    ['is not known any more', []],
  ] as [string, [string, EggAtHand][]][])('cannot when one %s', (_, second) => {
    expect(problem(['egg-1', at()], ...second)).toMatchObject({
      refusal: { rule: 'TRANSFER_EGG_GONE', blockers: [{ kind: 'egg', id: 'egg-2' }] },
    });
  });

  it('were not sent before the giver had them', () => {
    expect(problem(['egg-1', at({ since: ON })], ['egg-2', at()]).ok).toBe(true);
    expect(problem(['egg-1', at({ since: ON })], ['egg-2', at({ since: day('2026-06-11') })])).toMatchObject({
      refusal: { rule: 'TRANSFER_SENT_BEFORE_HELD', blockers: [{ kind: 'egg', id: 'egg-2' }] },
    });
  });
});

describe('eggs that arrive', () => {
  const three = carrying(egg(1), egg(2), egg(3));

  it('each in its state, on the day', () => {
    const told = receive(three, [said('well', 3, 1), said('dead', 2)]);
    expect(told).toMatchObject({ ok: true });
    const states = (told.ok ? told.value : []).map(({ number, arrival, receivedOn }) => [number, arrival, receivedOn]);
    expect(states.toSorted()).toEqual([
      [1, 'well', ON],
      [2, 'dead', ON],
      [3, 'well', ON],
    ]);
  });

  it('nothing is received by itself: a silent egg is refused unless more is to come', () => {
    expect(refusalOf(receive(three, [said('well', 1)]))).toMatchObject({
      rule: 'TRANSFER_ARRIVALS_INCOMPLETE',
      fields: [{ path: 'input.eggs', message: 'Nothing is said of egg 2, 3. Nothing is received by itself.' }],
    });
    expect(receive(three, [said('well', 1)], true)).toMatchObject({ value: [{ number: 1 }] });
  });

  it('an egg named twice, unknown, of another clutch, or said before is refused where it stands', () => {
    expect(paths(receive(three, [said('well', 1), said('ill', 1)], true))).toEqual(['input.eggs.1.numbers']);
    expect(paths(receive(three, [said('well', 9)], true))).toEqual(['input.eggs.0.numbers']);
    expect(paths(receive(three, [{ ...said('well', 1), clutchId: 'd' }], true))).toEqual(['input.eggs.0.numbers']);
    const partly = carrying(egg(1, { arrival: 'well' }), egg(2, { notSent: true }), egg(3));
    expect(paths(receive(partly, [said('well', 1), said('well', 2)], true))).toHaveLength(2);
    expect(receive(partly, [said('well', 3)])).toMatchObject({ value: [{ number: 3 }] });
  });
});

it('where an egg is after it arrived: in one place for every state', () => {
  const places = ARRIVAL_STATES.map((state) => [state, landingOf(state)]);
  expect(Object.fromEntries(places)).toEqual({
    well: 'receiver',
    ill: 'receiver',
    not_as_described: 'receiver',
    dead: 'receiver_dead',
    missing: 'giver_missing',
    refused: 'giver',
  });
});

describe('eggs that are left out', () => {
  const partly = carrying(egg(1, { arrival: 'well' }), egg(2), egg(3));

  it('were not sent, and nothing of them is pending any more', () => {
    const left = leaveOutEggs(partly, [{ clutchId: 'c', numbers: [2] }]);
    expect(left).toMatchObject({ ok: true, value: [{ number: 2, notSent: true }] });
    const eggs = withEggs(partly.eggs, left.ok ? left.value : []);
    expect(pendingEggs({ eggs }).map(({ number }) => number)).toEqual([3]);
    expect(eggs.map(({ number }) => number)).toEqual([1, 2, 3]);
  });

  it('one that has arrived, or is none of the transfer, is refused by name', () => {
    for (const named of [
      { clutchId: 'c', numbers: [1] },
      { clutchId: 'c', numbers: [7] },
      { clutchId: 'd', numbers: [2] },
    ])
      expect(refusalOf(leaveOutEggs(partly, [named]))).toMatchObject({
        rule: 'TRANSFER_ITEM_NOT_ON_WAY',
        fields: [{ path: 'input.eggs.0.numbers' }],
      });
  });
});
