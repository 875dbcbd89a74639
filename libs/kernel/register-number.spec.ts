import { describe, expect, it } from '@jest/globals';
import { checkCharacter, hasValidCheckCharacter } from './iso7064.js';
import {
  formatRegisterNumber,
  makeRegisterNumber,
  parseRegisterNumber,
  REGISTER_ALPHABET,
  shortRegisterNumber,
} from './register-number.js';

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
    expect(result).toMatchObject({ ok: false, message: 'A register number has no "O" (character 1).' });
    expect(result).toMatchObject({ remedy: expect.stringContaining('0, O, 1, I, L, 2, Z, 5, S, 8, B, A, E and U') });
    expect(parseRegisterNumber('34\u{1F98E}')).toMatchObject({
      message: 'A register number has no "\u{1F98E}" (character 3).',
    });
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

  it('names the only swap or look-alike that makes a mistyped number fit, and never one that does not', () => {
    const random = seeded(11);
    let named = 0;
    for (let n = 0; n < 200; n++) {
      const number = makeRegisterNumber(random);
      const i = random(7);
      if (number[i] === number[i + 1]) continue;
      const swapped = `${number.slice(0, i)}${number.charAt(i + 1)}${number.charAt(i)}${number.slice(i + 2)}`;
      const read = parseRegisterNumber(swapped);
      if (read.ok) continue; // The check character lets a few swaps pass; iso7064.spec.ts counts them.
      const suggested = /\((\S{3}-\S{3}-\S{3})\)/.exec(read.remedy)?.[1];
      if (suggested === undefined) continue;
      expect(parseRegisterNumber(suggested).ok).toBe(true);
      if (suggested === formatRegisterNumber(number)) {
        named++;
        expect(read.remedy).toContain(`characters ${i + 1} and ${i + 2} swapped`);
      }
    }
    // Own count with this seed; it shows that the remedy is more than a rarity.
    expect(named).toBeGreaterThan(50);
  });

  it('has a short form for labels that is not read as a number', () => {
    const number = makeRegisterNumber(seeded(1));
    expect(formatRegisterNumber(number).endsWith(`-${shortRegisterNumber(number)}`)).toBe(true);
    expect(parseRegisterNumber(shortRegisterNumber(number)).ok).toBe(false);
  });

  it('stops on a random source that is broken', () => {
    expect(() => makeRegisterNumber(() => 99)).toThrow(RangeError);
    const stuck = [...REGISTER_ALPHABET].findIndex((c) => !REGISTER_ALPHABET.includes(checkCharacter(c.repeat(8))));
    expect(stuck).toBeGreaterThanOrEqual(0);
    expect(() => makeRegisterNumber(() => stuck)).toThrow('repeats itself');
  });
});
