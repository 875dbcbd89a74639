import { describe, expect, it } from '@jest/globals';
import { takeUpTransfer } from './take-up.core.js';
import { GIVER, item, offered } from './transfer-fixtures.js';

const NOW = new Date('2026-06-20T10:00:00Z');
const outside = { ...offered(item('a')), receiver: { kind: 'outside_party' as const, outsidePartyId: 'party' } };

describe('takeUpTransfer', () => {
  it('given a keeper, makes the transfer one to that keeper, in the state it is in', () => {
    expect(takeUpTransfer(outside, 'buyer', NOW)).toMatchObject({
      ok: true,
      value: { state: 'offered', receiver: { kind: 'keeper', keeperId: 'buyer' }, takenUpAt: NOW },
    });
  });

  it('given the giver, refuses', () => {
    expect(takeUpTransfer(outside, GIVER, NOW)).toMatchObject({ ok: false, refusal: { rule: 'TRANSFER_TO_SELF' } });
  });
});
