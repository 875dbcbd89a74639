import { describe, expect, it } from '@jest/globals';
import { day } from '../../kernel/index.js';
import { awaitedSides, countersignTransfer, withdrawCountersignature } from './countersign.core.js';
import { checkSending, DEFAULT_POLICY } from './send-checks.core.js';
import { type Countersigning } from '../core/transfer.core.js';
import { item, offered } from '../core/transfer-fixtures.js';

const checks = (transfer: Parameters<typeof checkSending>[0], on = TODAY) =>
  checkSending(transfer, [], DEFAULT_POLICY, on);
const TODAY = day('2026-06-01');
const TOMORROW = day('2026-06-02');
const of = (...countersigning: Countersigning[]) => ({ ...offered(item('a')), countersigning });
const giver = (minorUntil = TOMORROW, signed = false): Countersigning => ({ side: 'giver', minorUntil, signed });
const receiver = (signed = false): Countersigning => ({ side: 'receiver', minorUntil: TOMORROW, signed });

describe('a countersignature', () => {
  it.each([
    ['of nobody, between adults', of(), []],
    ['of the side that is a minor’s', of(giver()), ['giver']],
    ['of both, where both are', of(giver(), receiver()), ['giver', 'receiver']],
    ['no longer of one who has signed', of(giver(TOMORROW, true), receiver()), ['receiver']],
    ['no longer from the day on', of(giver(TODAY)), []],
  ])('is awaited %s', (_, transfer, sides) => {
    expect(awaitedSides(transfer, TODAY)).toEqual(sides);
    const accepted = { ...transfer, state: 'accepted' as const };
    expect(checks(accepted).map(({ effect }) => effect)).toEqual(sides.map(() => 'block'));
  });

  it('of a receiver who has not accepted is not told to the giver', () => {
    expect(checks(of(giver(), receiver())).map(({ fact }) => fact)).toEqual([expect.stringContaining('giver')]);
  });

  it('says nothing of an age', () => {
    const [check] = checks({ ...of(receiver()), state: 'accepted' });
    expect(check).toBeDefined();
    expect(`${check?.fact} ${check?.clears}`).not.toMatch(/minor|age|adult|guardian/i);
  });

  it('is given for the guarded sides alone, once, before the animals are sent', () => {
    expect(countersignTransfer(of(giver(), receiver()), ['receiver'], TODAY)).toMatchObject({ value: ['receiver'] });
    expect(countersignTransfer(of(giver(), receiver()), ['giver', 'receiver'], TODAY)).toMatchObject({
      value: ['giver', 'receiver'],
    });
    expect(countersignTransfer(of(giver(TOMORROW, true)), ['giver'], TODAY)).toMatchObject({
      refusal: { rule: 'COUNTERSIGNED_ALREADY' },
    });
    const sent = {
      ...of(giver()),
      state: 'sent' as const,
      acceptedAt: new Date('2026-06-01T10:00:00Z'),
      sentOn: TODAY,
      failure: null,
    };
    expect(countersignTransfer(sent, ['giver'], TODAY)).toMatchObject({
      refusal: { rule: 'TRANSFER_COUNTERSIGN_LATE' },
    });
  });

  it('is taken back for the guarded sides that have signed, before the animals are sent', () => {
    const both = of(giver(TOMORROW, true), receiver(true));
    expect(withdrawCountersignature(both, ['receiver'])).toMatchObject({ value: ['receiver'] });
    expect(withdrawCountersignature(both, ['giver', 'receiver'])).toMatchObject({ value: ['giver', 'receiver'] });
    for (const [transfer, guarded] of [
      [of(giver(TOMORROW, true), receiver()), 'receiver'],
      [of(), 'giver'],
    ] as const)
      expect(withdrawCountersignature(transfer, [guarded])).toMatchObject({
        refusal: { rule: 'COUNTERSIGNATURE_NONE' },
      });
    expect(
      withdrawCountersignature({ ...both, state: 'withdrawn', closedAt: new Date(), acceptedAt: null }, ['giver']),
    ).toMatchObject({ refusal: { rule: 'TRANSFER_COUNTERSIGN_LATE' } });
  });
});
