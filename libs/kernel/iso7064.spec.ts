import { describe, expect, it } from '@jest/globals';
import { checkCharacter, hasValidCheckCharacter } from './iso7064.js';

const ALL = [...'0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ'];

describe('ISO 7064 MOD 37,36', () => {
  it('gives the published example its check character', () => {
    // Global Release Identifier A1-2425G-ABC1234002-M: IFPI, GRid Standard 2.1, which uses ISO 7064 MOD 37,36; read in the
    // documentation of a public implementation that repeats the example, the standard itself was not at hand.
    expect(checkCharacter('A12425GABC1234002')).toBe('M');
    expect(hasValidCheckCharacter('A12425GABC1234002M')).toBe(true);
  });

  it.each([
    ['000000003A8D0000', 'Z'],
    ['000000003A8D000000000000', '6'],
    ['00000000D07A0090', 'Q'],
  ])('gives the audiovisual number %s its check character %s', (text, check) => {
    // Example numbers of ISO 15706 (ISAN), whose check characters are ISO 7064 MOD 37,36: ISAN 0000-0000-3A8D-0000-Z-0000-0000-6
    // and ISAN 0000-0000-D07A-0090-Q, as they are printed in introductions to that standard; from memory.
    expect(checkCharacter(text)).toBe(check);
  });

  it('finds exactly one check character for every text', () => {
    for (const text of ['A12425GABC1234002', '0', 'ZZZZZZZZ', 'KITHB00K']) {
      expect(ALL.filter((c) => hasValidCheckCharacter(text + c))).toEqual([checkCharacter(text)]);
    }
  });

  it('catches every single substitution, the check character included', () => {
    for (const text of ['A12425GABC1234002', '00000000', 'ZZZZZZZZ', '3F7XKQ9W']) {
      const whole = text + checkCharacter(text);
      for (let i = 0; i < whole.length; i++) {
        for (const c of ALL.filter((other) => other !== whole[i])) {
          expect(hasValidCheckCharacter(whole.slice(0, i) + c + whole.slice(i + 1))).toBe(false);
        }
      }
    }
  });

  it('catches all but 36 of 22,680 swaps of neighbours inside the text', () => {
    // One leading character reaches each of the 36 states of the system, so this is every swap there can be.
    let swaps = 0;
    const missed: string[] = [];
    for (const first of ALL) {
      for (const [i, a] of ALL.entries()) {
        for (const b of ALL.slice(i + 1)) {
          swaps++;
          if (checkCharacter(first + a + b) === checkCharacter(first + b + a)) missed.push(first + a + b);
        }
      }
    }
    expect(swaps).toBe(22_680);
    // Our own count over the whole table, not a published figure.
    expect(missed).toHaveLength(36);
  });

  it('refuses what is not 0-9 and A-Z', () => {
    expect(() => checkCharacter('')).toThrow(RangeError);
    expect(() => checkCharacter('a1')).toThrow(RangeError);
    expect(() => checkCharacter('A1-2')).toThrow(RangeError);
    expect(
      ['', 'M', 'a12425gabc1234002m', 'A12425GABC123400-M', 'A12425GABC1234002m'].some(hasValidCheckCharacter),
    ).toBe(false);
  });
});
