import { describe, expect, it } from '@jest/globals';
import { failTransfer } from './failure.core.js';
import { type Failure, type Side, type Transfer } from './transfer.core.js';
import { item, offered, sent } from './transfer-fixtures.js';

const NOW = new Date('2026-06-12T10:00:00Z');

const say = (transfer: Transfer, side: Side, kind: Failure['kind'], alone = false) =>
  failTransfer(transfer, { kind, side, alone, reason: null }, NOW);

/** The transfer after a word that was taken. */
function after(transfer: Transfer, side: Side, kind: Failure['kind']): Transfer {
  const decision = say(transfer, side, kind);
  if (!decision.ok) throw new Error(decision.refusal.message);
  return decision.value;
}

describe('a transfer that failed', () => {
  it.each(['giver', 'receiver'] as const)(
    'given the word of the %s, it is sent until the other says the same',
    (side) => {
      const other = side === 'giver' ? 'receiver' : 'giver';
      const declared = after(sent(item('a')), side, 'never_arrived');
      expect(declared).toMatchObject({ state: 'sent', failure: { kind: 'never_arrived', declaredBy: side } });
      expect(say(declared, side, 'never_arrived')).toMatchObject({ refusal: { rule: 'TRANSFER_FAILURE_DECLARED' } });
      expect(say(declared, other, 'came_back')).toMatchObject({ refusal: { rule: 'TRANSFER_FAILURE_DIFFERS' } });
      expect(say(declared, other, 'never_arrived')).toMatchObject({
        ok: true,
        value: { state: 'failed', failure: { declaredBy: side }, closedAt: NOW },
      });
    },
  );

  it('whoever said the one may say the other instead, and that is what the other side confirms', () => {
    const changed = after(after(sent(item('a')), 'giver', 'never_arrived'), 'giver', 'came_back');
    expect(changed).toMatchObject({ state: 'sent', failure: { kind: 'came_back' } });
    expect(say(changed, 'receiver', 'came_back')).toMatchObject({ value: { state: 'failed' } });
  });

  it('for an outside party the giver speaks alone', () => {
    expect(say(sent(item('a')), 'giver', 'came_back', true)).toMatchObject({ value: { state: 'failed' } });
  });

  it('given a part that arrived, or nothing that was sent, refuses', () => {
    const arrived = { ...item('a'), arrivals: [{ state: 'well' as const, count: 1 }] };
    expect(say(sent(arrived, item('b')), 'giver', 'came_back')).toMatchObject({
      refusal: { rule: 'TRANSFER_PARTLY_RECEIVED' },
    });
    expect(say(offered(item('a')), 'giver', 'came_back')).toMatchObject({ refusal: { rule: 'TRANSFER_NOT_SENT' } });
  });
});
