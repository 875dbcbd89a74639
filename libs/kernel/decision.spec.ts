import { describe, expect, it } from '@jest/globals';
import { decide, refuse, type Decision } from './decision.js';

function halve(n: number): Decision<number> {
  return n % 2 === 0 ? decide(n / 2) : refuse('ODD_NUMBER', `${n} is odd.`);
}

describe('decision', () => {
  it('carries the value of a yes', () => {
    expect(halve(4)).toEqual({ ok: true, value: 2 });
  });

  it('carries the rule and the message of a no, and no empty lists', () => {
    expect(halve(3)).toEqual({ ok: false, refusal: { rule: 'ODD_NUMBER', message: '3 is odd.' } });
  });

  it('carries fields and blockers when given', () => {
    const blockers = [{ kind: 'transfer', id: 't1', remedy: 'Withdraw it first.' }];
    const fields = [{ path: 'input.day', message: 'Too early.', remedy: 'Choose a later day.' }];
    expect(refuse('IN_TRANSFER', 'An open transfer exists.', { blockers, fields }).refusal).toEqual({
      rule: 'IN_TRANSFER',
      message: 'An open transfer exists.',
      blockers,
      fields,
    });
  });
});
