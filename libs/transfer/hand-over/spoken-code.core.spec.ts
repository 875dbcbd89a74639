import { describe, expect, it } from '@jest/globals';
import { REGISTER_ALPHABET } from '../../kernel/index.js';
import { formatSpokenCode, makeSpokenCode, parseSpokenCode } from './spoken-code.core.js';

/** A small linear congruential generator, so that the codes of this spec are always the same. Constants: Numerical Recipes. */
function source(seed: number): (below: number) => number {
  let state = seed;
  return (below) => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return Math.floor((state / 2 ** 32) * below);
  };
}

describe('spoken codes', () => {
  it('hold more than 80 bits', () => {
    const fits = [...'0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ'].filter((c) => REGISTER_ALPHABET.includes(c)).length;
    expect(19 * Math.log2(REGISTER_ALPHABET.length) + Math.log2(fits / 36)).toBeGreaterThan(80);
  });

  it('are printed in four groups of five and read back however they are typed', () => {
    const code = makeSpokenCode(source(7));
    const printed = formatSpokenCode(code);
    expect(printed).toMatch(/^([0-9A-Z]{5}-){3}[0-9A-Z]{5}$/);
    expect(parseSpokenCode(printed)).toBe(code);
    expect(parseSpokenCode(` ${printed.toLowerCase().replaceAll('-', ' ')}`)).toBe(code);
  });

  it('catch every single wrong character, before any look-up', () => {
    const code = makeSpokenCode(source(11));
    let tried = 0;
    for (let i = 0; i < code.length; i++) {
      for (const other of REGISTER_ALPHABET) {
        if (other === code[i]) continue;
        tried += 1;
        expect(parseSpokenCode(code.slice(0, i) + other + code.slice(i + 1))).toBeNull();
      }
    }
    expect(tried).toBe(20 * 21);
  });

  it('given too short, too long or foreign characters, are not read', () => {
    const code = makeSpokenCode(source(3));
    for (const text of ['', code.slice(1), `${code}7`, `O${code.slice(1)}`]) expect(parseSpokenCode(text)).toBeNull();
  });
});
