import { describe, expect, it } from '@jest/globals';
import { decideLoss, decideSplit } from './lot.core.js';

const rule = (decision: { ok: boolean; refusal?: { rule: string } }) => decision.refusal?.rule;

describe('taking animals out of a lot', () => {
  const lot = { kind: 'lot' as const, count: 10 };

  it('leaves the rest', () => {
    expect(decideSplit(lot, 4)).toEqual({ ok: true, value: { left: 6 } });
    expect(decideLoss(lot, 10)).toEqual({ ok: true, value: { left: 0 } });
  });

  it('refuses more than there is, nothing, parts of animals, and an individual', () => {
    expect(rule(decideLoss(lot, 11))).toBe('LOT_TOO_SMALL');
    expect(rule(decideLoss(lot, 0))).toBe('LOT_COUNT_INVALID');
    expect(rule(decideLoss(lot, 1.5))).toBe('LOT_COUNT_INVALID');
    expect(rule(decideSplit({ kind: 'individual', count: 1 }, 1))).toBe('NOT_A_LOT');
  });

  it('does not split off everything: that is moving the lot', () => {
    expect(rule(decideSplit(lot, 10))).toBe('LOT_SPLIT_TAKES_ALL');
  });
});
