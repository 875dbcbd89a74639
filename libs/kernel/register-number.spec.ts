import { describe, expect, it } from '@jest/globals';
import { checkCharacter, hasValidCheckCharacter } from './iso7064.js';
import { formatRegisterNumber, makeRegisterNumber, parseRegisterNumber, REGISTER_ALPHABET } from './register-number.js';

/** A small seeded generator (mulberry32, from memory); its quality does not matter here, only that runs repeat. */
function seeded(seed: number): (below: number) => number {
  let state = seed;
  return (below) => {
    state = (state + 0x6d2b79f5) | 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return Math.floor((((t ^ (t >>> 14)) >>> 0) / 4_294_967_296) * below);
  };
}

describe('register number', () => {
  it('uses 22 different characters and none that is mistaken for another', () => {
    expect(new Set(REGISTER_ALPHABET).size).toBe(22);
    expect([...'0O1IL2Z5S8BAEU'].filter((c) => REGISTER_ALPHABET.includes(c))).toEqual([]);
  });

  it('makes numbers of nine characters of the alphabet that check and read back', () => {
    const random = seeded(7);
    const made = new Set<string>();
    for (let i = 0; i < 2000; i++) {
      const number = makeRegisterNumber(random);
      made.add(number);
      expect([...number].every((c) => REGISTER_ALPHABET.includes(c))).toBe(true);
      expect(number).toHaveLength(9);
      expect(hasValidCheckCharacter(number)).toBe(true);
      const printed = formatRegisterNumber(number);
      expect(printed).toMatch(/^\w{3}-\w{3}-\w{3}$/);
      expect(parseRegisterNumber(printed)).toEqual({ ok: true, value: number });
    }
    expect(made.size).toBe(2000);
  });

  it('reads lower case, blanks, dots and hyphens', () => {
    const number = makeRegisterNumber(seeded(1));
    const lower = number.toLowerCase();
    const spellings = [
      lower,
      ` ${lower.slice(0, 3)} ${lower.slice(3)} `,
      [...number].join('.'),
      [...lower].join('\u2011'),
    ];
    for (const text of spellings) expect(parseRegisterNumber(text)).toEqual({ ok: true, value: number });
  });

  it('names a character that is never used', () => {
    const number = makeRegisterNumber(seeded(1));
    const result = parseRegisterNumber(`o${number.slice(1)}`);
    expect(result).toMatchObject({ ok: false, message: 'A register number has no "O".' });
    expect(result).toMatchObject({ remedy: expect.stringContaining('0, O, 1, I, L, 2, Z, 5, S, 8, B, A, E and U') });
    expect(parseRegisterNumber('34\u{1F98E}')).toMatchObject({ message: 'A register number has no "\u{1F98E}".' });
  });

  it('tells a wrong length from a wrong character', () => {
    const number = makeRegisterNumber(seeded(1));
    expect(parseRegisterNumber(number.slice(1))).toMatchObject({
      ok: false,
      message: expect.stringContaining('this has 8'),
    });
    expect(parseRegisterNumber('')).toMatchObject({ ok: false, message: expect.stringContaining('this has 0') });
    for (let i = 0; i < 9; i++) {
      for (const c of [...REGISTER_ALPHABET].filter((other) => other !== number[i])) {
        expect(parseRegisterNumber(number.slice(0, i) + c + number.slice(i + 1))).toMatchObject({
          ok: false,
          message: expect.stringContaining('check character'),
        });
      }
    }
  });

  it('stops on a random source that is broken', () => {
    expect(() => makeRegisterNumber(() => 99)).toThrow(RangeError);
    const stuck = [...REGISTER_ALPHABET].findIndex((c) => !REGISTER_ALPHABET.includes(checkCharacter(c.repeat(8))));
    expect(stuck).toBeGreaterThanOrEqual(0);
    expect(() => makeRegisterNumber(() => stuck)).toThrow('repeats itself');
  });
});
