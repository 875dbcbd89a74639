import { describe, expect, it } from '@jest/globals';
import { type Decision } from '../../kernel/index.js';
import { CODE_LIVES_MS, decideCode, decideOpening, type HandOverCode, MAX_WRONG_TRIES } from './hand-over.core.js';
import { type AcceptedTransfer, type Transfer } from '../core/transfer.core.js';
import { item, offered, sent } from '../core/transfer-fixtures.js';

const OPENED = new Date('2026-06-10T10:00:00Z');
const CODE: HandOverCode = {
  id: 'hand-over',
  codeHash: 'hash of hand-over',
  expiresAt: new Date(OPENED.getTime() + CODE_LIVES_MS),
  wrongTries: 0,
  reasonGiven: false,
  closedAt: null,
  usedAt: null,
};
const hash = (id: string) => `hash of ${id}`;
const answer = (decision: Decision<unknown>) => (decision.ok ? decision.value : decision.refusal.rule);
const tried = (code: HandOverCode | null, now = OPENED, hashed = hash) => answer(decideCode(code, hashed, now));

describe('opening a hand-over in person', () => {
  const one = offered(item('a'));
  const accepted: AcceptedTransfer = { ...one, state: 'accepted', acceptedAt: OPENED };

  it('is possible while nothing was sent', () => {
    for (const transfer of [one, accepted]) expect(answer(decideOpening(transfer))).toBeNull();
  });

  it('is refused once it was sent or ended, with what to do instead', () => {
    const declined: Transfer = { ...one, state: 'declined', acceptedAt: null, closedAt: OPENED };
    expect(decideOpening(sent(item('a')))).toMatchObject({
      refusal: { rule: 'HAND_OVER_NOT_OPEN', blockers: [{ remedy: 'The receiver says how it arrived.' }] },
    });
    expect(decideOpening(declined)).toMatchObject({
      refusal: { rule: 'HAND_OVER_NOT_OPEN', blockers: [{ remedy: 'Offer a new transfer.' }] },
    });
  });

  it('is refused where the receiver has no account to enter a code with', () => {
    const outside = { ...one, receiver: { kind: 'outside_party', outsidePartyId: 'party' } as const };
    expect(answer(decideOpening(outside))).toBe('HAND_OVER_NO_ACCOUNT');
  });
});

describe('a code that is entered', () => {
  it('is right or wrong by its hash, which is made with the id it was opened under', () => {
    expect(tried(CODE)).toBe('right');
    expect(tried(CODE, OPENED, () => 'hash of another')).toBe('wrong');
    expect(tried({ ...CODE, id: 'another' })).toBe('wrong');
  });

  it('works up to the end of its quarter of an hour, not at it', () => {
    const at = (ms: number) => tried(CODE, new Date(OPENED.getTime() + ms));
    expect([at(15 * 60_000 - 1), at(15 * 60_000)]).toEqual(['right', 'HAND_OVER_CODE_EXPIRED']);
  });

  it('works once, not after it was closed, and not after ten wrong tries, also for the right one', () => {
    expect(tried({ ...CODE, usedAt: OPENED, closedAt: OPENED })).toBe('HAND_OVER_CODE_USED');
    expect(tried({ ...CODE, closedAt: OPENED })).toBe('HAND_OVER_CODE_CLOSED');
    expect(tried({ ...CODE, wrongTries: MAX_WRONG_TRIES - 1 })).toBe('right');
    expect(tried({ ...CODE, wrongTries: 10 })).toBe('HAND_OVER_CODE_CLOSED');
  });

  it('there is none until the giver opens a hand-over', () => expect(tried(null)).toBe('HAND_OVER_CODE_NONE'));
});
