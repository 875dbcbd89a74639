import { describe, expect, it } from '@jest/globals';
import { decideRenewal, REPEAT_MS } from './session.core.js';

const now = new Date('2026-05-03T12:00:00Z');
const before = (ms: number) => new Date(now.getTime() - ms);
const open = { ended: false, expiresAt: new Date('2026-06-01T00:00:00Z'), usedAt: null };

describe('decideRenewal', () => {
  it.each([
    ['a token that was never used', {}, 'renew'],
    ['one whose answer may have been lost', { usedAt: before(REPEAT_MS) }, 'renew'],
    ['one used long before: somebody has a copy', { usedAt: before(REPEAT_MS + 1) }, 'end_as_copied'],
    ['a session that has ended, even so', { ended: true, usedAt: before(REPEAT_MS + 1) }, 'over'],
    ['a session that has lapsed', { expiresAt: now }, 'over'],
  ])('%s', (_, facts, expected) => {
    expect(decideRenewal({ ...open, ...facts }, now)).toBe(expected);
  });
});
