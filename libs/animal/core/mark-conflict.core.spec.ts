import { describe, expect, it } from '@jest/globals';
import { CHIP_WINDOW_SECONDS, CHIPS_COME_UPON, chipWait } from './mark-conflict.core.js';

const NOW = new Date('2026-06-10T12:00:00Z');
const ago = (seconds: number): Date => new Date(NOW.getTime() - seconds * 1000);
const many = (count: number, seconds: number): Date[] => Array.from({ length: count }, () => ago(seconds));

describe('numbers of other keepers that an account came upon', () => {
  it('keep it from recording chips once they are too many within a day, until the oldest of the last ones is over', () => {
    expect(chipWait(many(CHIPS_COME_UPON - 1, 10), NOW)).toBeNull();
    expect(chipWait(many(CHIPS_COME_UPON, 10), NOW)).toBe(CHIP_WINDOW_SECONDS - 10);
    expect(chipWait([...many(CHIPS_COME_UPON - 1, 10), ago(600), ago(900)], NOW)).toBe(CHIP_WINDOW_SECONDS - 600);
    expect(chipWait([...many(CHIPS_COME_UPON - 1, 10), ago(CHIP_WINDOW_SECONDS)], NOW)).toBeNull();
  });
});
