import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { day } from '../../kernel/index.js';
import { failTransfer } from './failure.core.js';
import { leaveOut, receiveTransfer } from './receive.core.js';
import {
  acceptTransfer,
  cancelTransfer,
  declineTransfer,
  expireTransfer,
  sendTransfer,
  withdrawTransfer,
} from './steps.core.js';
import { type Transfer, type TransferState } from './transfer.core.js';
import { animal, facts, item, offered } from './transfer-fixtures.js';
import { canStep, faultsOf, FINAL_STATES, inStateFor, type Step, STEPS, TRANSITIONS } from './transitions.core.js';

const CLOCK = { now: new Date('2026-06-10T10:00:00Z'), today: day('2026-06-10') };
const ANIMALS = facts(animal('a'), animal('b'));

/** What a step makes of a transfer of the animals a and b: its state, or null when the step was refused. */
const PLAY: Record<Step, (transfer: Transfer, pick: number) => Transfer | null> = {
  accept: (transfer) => taken(acceptTransfer(transfer, CLOCK)),
  decline: (transfer) => taken(declineTransfer(transfer, CLOCK.now)),
  withdraw: (transfer) => taken(withdrawTransfer(transfer, CLOCK.now)),
  expire: (transfer) => expireTransfer(transfer, { ...CLOCK, today: day('2026-07-01') }),
  cancel: (transfer) => taken(cancelTransfer(transfer, { side: 'giver', reason: 'r' }, CLOCK.now)),
  send: (transfer) => taken(sendTransfer(transfer, CLOCK.today, ANIMALS, CLOCK.today)),
  receive: (transfer, pick) => {
    const items = [...'ab']
      .filter((_, i) => (pick & (1 << i)) > 0)
      .map((animalId) => ({ animalId, arrivals: [{ state: 'well' as const, count: 1 }] }));
    const decision = receiveTransfer(transfer, { on: CLOCK.today, items, moreToCome: true }, ANIMALS, CLOCK);
    return decision.ok ? decision.value.transfer : null;
  },
  leaveOut: (transfer, pick) => taken(leaveOut(transfer, [(pick & 1) === 0 ? 'a' : 'b'], CLOCK.now)),
  fail: (transfer, pick) => {
    const side = (pick & 1) === 0 ? 'giver' : 'receiver';
    return taken(failTransfer(transfer, { kind: 'came_back', side, alone: false, reason: null }, CLOCK.now));
  },
};

function taken<T>(decision: { ok: true; value: T } | { ok: false }): T | null {
  return decision.ok ? decision.value : null;
}

const START: Transfer = { ...offered(item('a'), item('b')), answerBy: day('2026-06-20') };

describe('the table of transitions', () => {
  it('reaches every state, has an exit from every open one and none from a final one', () => {
    expect(faultsOf()).toEqual([]);
  });

  it('a table with a dead end, or a state nobody comes to, is told', () => {
    const without = (...gone: Step[]) =>
      faultsOf(Object.fromEntries(Object.entries(TRANSITIONS).filter(([step]) => !gone.includes(step as Step))));
    expect(without('send')).toContain('No step leads to "sent".');
    expect(without('receive', 'leaveOut', 'fail')).toContain('No step leads out of "sent".');
  });

  it('any history stays inside the table; closed is closed; an animal is received or not, once', () => {
    const seen = new Set<TransferState>();
    fc.assert(
      fc.property(fc.array(fc.tuple(fc.constantFrom(...STEPS), fc.nat(3)), { maxLength: 12 }), (history) => {
        let transfer: Transfer = START;
        for (const [step, pick] of history) {
          const next = PLAY[step](transfer, pick);
          if (!canStep(step, transfer.state))
            expect({ step, from: transfer.state, next }).toMatchObject({ next: null });
          if (next === null) continue;
          const to: readonly TransferState[] = TRANSITIONS[step].to;
          expect(to).toContain(next.state);
          expect('closedAt' in next).toBe(FINAL_STATES.includes(next.state));
          for (const [i, one] of next.items.entries()) {
            const before = transfer.items[i];
            if (before !== undefined && (before.notSent || before.arrivals.length > 0)) expect(one).toEqual(before);
            expect(one.notSent && one.arrivals.length > 0).toBe(false);
          }
          transfer = next;
          seen.add(next.state);
        }
      }),
      { numRuns: 3000 },
    );
    expect([...seen].sort()).toEqual([...FINAL_STATES, 'accepted', 'sent'].sort());
  });

  it('leaves no way back once the animals are sent but what both sides say', () => {
    expect(STEPS.filter((step) => canStep(step, 'sent'))).toEqual(['receive', 'leaveOut', 'fail']);
  });

  it.each([
    ['accept', 'TRANSFER_NOT_OFFERED'],
    ['send', 'TRANSFER_NOT_ACCEPTED'],
    ['receive', 'TRANSFER_NOT_SENT'],
    ['fail', 'TRANSFER_NOT_SENT'],
    ['decline', 'TRANSFER_NOT_DECLINABLE'],
    ['withdraw', 'TRANSFER_NOT_WITHDRAWABLE'],
    ['cancel', 'TRANSFER_NOT_CANCELLABLE'],
  ] as const)('given a declined transfer, %s is refused as %s with what to do', (step, rule) => {
    const declined = { ...offered(), state: 'declined' as const, acceptedAt: null, closedAt: new Date() };
    expect(inStateFor(step, declined)).toMatchObject({
      ok: false,
      refusal: {
        rule,
        blockers: [{ kind: 'transfer', id: 'transfer-1', remedy: expect.stringContaining('new transfer') }],
      },
    });
  });
});
