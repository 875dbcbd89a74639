import { describe, expect, it } from '@jest/globals';
import { offered } from './transfer-fixtures.js';
import { canStep, FINAL_STATES, FIRST_STATE, inStateFor, type Step, TRANSITIONS } from './transitions.core.js';
import { type TransferState } from './transfer.core.js';

const STATES: readonly TransferState[] = ['offered', 'accepted', 'sent', 'received', 'declined', 'withdrawn'];
const STEPS = Object.keys(TRANSITIONS) as Step[];

describe('the table of transitions', () => {
  it('reaches every state from the first', () => {
    const reached = new Set<TransferState>([FIRST_STATE]);
    for (const state of reached) {
      for (const step of STEPS) if (canStep(step, state)) reached.add(TRANSITIONS[step].to);
    }
    expect([...reached].sort()).toEqual([...STATES].sort());
  });

  it('has an exit from every state that is not final, and none from a final one', () => {
    for (const state of STATES) {
      const exits = STEPS.filter((step) => canStep(step, state));
      expect({ state, hasExit: exits.length > 0 }).toEqual({ state, hasExit: !FINAL_STATES.includes(state) });
    }
  });

  it('leaves the giver no way back once the animals are sent, and the receiver only the receipt', () => {
    expect(STEPS.filter((step) => canStep(step, 'sent'))).toEqual(['receive']);
  });

  it.each([
    ['accept', 'TRANSFER_NOT_OFFERED'],
    ['send', 'TRANSFER_NOT_ACCEPTED'],
    ['receive', 'TRANSFER_NOT_SENT'],
    ['decline', 'TRANSFER_NOT_DECLINABLE'],
    ['withdraw', 'TRANSFER_NOT_WITHDRAWABLE'],
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
