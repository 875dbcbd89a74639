import { describe, expect, it } from '@jest/globals';
import { parseSpokenCode } from './spoken-code.core.js';
import { SpokenCodes } from './spoken-codes.js';

const codes = new SpokenCodes({ authSecret: 'a secret of at least 32 characters, only for specs' });

describe('SpokenCodes', () => {
  it('gives one transfer the same claim code every time, and every transfer its own', () => {
    const many = Array.from({ length: 200 }, (_, i) => codes.claimCode(`transfer-${i}`));
    expect(new Set(many).size).toBe(200);
    expect(codes.claimCode('transfer-7')).toBe(many[7]);
    for (const code of many) expect(parseSpokenCode(code)).toBe(code);
  });

  it('gives other codes under another secret', () => {
    const other = new SpokenCodes({ authSecret: 'another secret of at least 32 characters' });
    expect(other.claimCode('transfer-7')).not.toBe(codes.claimCode('transfer-7'));
  });

  it('uses the whole alphabet evenly', () => {
    const counts = new Map<string, number>();
    for (let i = 0; i < 1000; i++) {
      for (const character of codes.claimCode(`t${i}`).slice(0, 10))
        counts.set(character, (counts.get(character) ?? 0) + 1);
    }
    expect(counts.size).toBe(22);
    // 10,000 draws, 454.5 expected each, standard deviation about 21: six of them.
    for (const count of counts.values()) expect(Math.abs(count - 454.5)).toBeLessThan(126);
  });

  it('draws check codes at random', () => {
    expect(new Set(Array.from({ length: 50 }, () => codes.checkCode())).size).toBe(50);
  });
});
