import { checkCharacter, hasValidCheckCharacter } from './iso7064.js';

declare const registerNumberBrand: unique symbol;

/** A register number as stored: nine characters, no hyphens, the last one the check character. Print with `formatRegisterNumber`. */
export type RegisterNumber = string & { readonly [registerNumberBrand]: true };

/**
 * The 22 characters of register numbers. Both of each pair that is mistaken in handwriting or print are left out
 * (0/O, 1/I/L, 2/Z, 5/S, 8/B), and the vowels A, E, U, so that no words appear. Own choice, no published source.
 */
export const REGISTER_ALPHABET = '34679CDFGHJKMNPQRTVWXY';

const PAYLOAD_LENGTH = 8;
const NEVER_USED = '0, O, 1, I, L, 2, Z, 5, S, 8, B, A, E and U are never used';

/** A register number that was read, or why it was not and what to do. */
export type RegisterNumberResult = { ok: true; value: RegisterNumber } | { ok: false; message: string; remedy: string };

/**
 * Draws a new register number: eight random characters and their ISO 7064 MOD 37,36 check character, drawn again until
 * that one lies in the alphabet as well (22 of 36 do, so seldom more than a few times).
 * `randomIndex(below)` gives a whole number from 0 to `below` - 1, each equally likely.
 */
export function makeRegisterNumber(randomIndex: (below: number) => number): RegisterNumber {
  // A working source fails 1,000 times in a row with probability (14/36)^1000: a loop that long is a broken source.
  for (let attempt = 0; attempt < 1000; attempt++) {
    let payload = '';
    for (let i = 0; i < PAYLOAD_LENGTH; i++) payload += REGISTER_ALPHABET.charAt(randomIndex(REGISTER_ALPHABET.length));
    if (payload.length !== PAYLOAD_LENGTH) throw new RangeError('The random source gave an index outside the alphabet');
    const check = checkCharacter(payload);
    if (REGISTER_ALPHABET.includes(check)) return (payload + check) as RegisterNumber;
  }
  throw new RangeError('The random source repeats itself');
}

/**
 * Reads a register number as people write it: lower case, blanks, dots and hyphens are accepted. The message tells a
 * foreign character, a wrong length and a failed check character apart.
 */
export function parseRegisterNumber(text: string): RegisterNumberResult {
  const compact = text.replace(/[\s.\-\u2010-\u2014]/g, '').toUpperCase();
  const foreign = [...compact].find((character) => !REGISTER_ALPHABET.includes(character));
  if (foreign !== undefined) {
    return {
      ok: false,
      message: `A register number has no "${foreign}".`,
      remedy: `Compare it with the original: ${NEVER_USED}.`,
    };
  }
  if (compact.length !== PAYLOAD_LENGTH + 1) {
    return {
      ok: false,
      message: `A register number has 9 characters; this has ${compact.length}.`,
      remedy: 'Write all of it, in the form XXX-XXX-XXX.',
    };
  }
  if (!hasValidCheckCharacter(compact)) {
    return {
      ok: false,
      message: 'The check character does not fit: at least one character is wrong or two are swapped.',
      remedy: 'Compare it with the original character by character.',
    };
  }
  return { ok: true, value: compact as RegisterNumber };
}

/** The form for print and for reading aloud: `XXX-XXX-XXX`. */
export function formatRegisterNumber(number: RegisterNumber): string {
  return `${number.slice(0, 3)}-${number.slice(3, 6)}-${number.slice(6)}`;
}
