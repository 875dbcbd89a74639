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
  const characters = [...compact];
  const place = characters.findIndex((character) => !REGISTER_ALPHABET.includes(character));
  if (place >= 0) {
    return {
      ok: false,
      message: `A register number has no "${characters[place] ?? ''}" (character ${place + 1}).`,
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
      remedy: likelySlip(compact) ?? 'Compare it with the original character by character.',
    };
  }
  return { ok: true, value: compact as RegisterNumber };
}

/** Characters of the alphabet that are taken for one another in handwriting. Own choice, no published source. */
const LOOK_ALIKE = ['CG', 'GQ', '6G', '79', '7Y', 'VY', 'VW', 'MN', 'KX', 'PR', 'FP', 'PD', '49', '3J', '7T', 'HN'];

/**
 * Where a number with a wrong check character was likely miswritten: the only swap of neighbours, or the only look-alike,
 * that makes it fit. Pure arithmetic: which numbers exist plays no part. Null where several would do, or none.
 */
function likelySlip(compact: string): string | null {
  const fits = new Map<string, string>();
  const tryOut = (text: string, words: string): void => {
    if (text !== compact && hasValidCheckCharacter(text)) fits.set(text, words);
  };
  for (let i = 0; i < compact.length; i++) {
    const [here, next] = [compact.charAt(i), compact.charAt(i + 1)];
    tryOut(compact.slice(0, i) + next + here + compact.slice(i + 2), `characters ${i + 1} and ${i + 2} swapped`);
    for (const pair of LOOK_ALIKE.filter((each) => each.includes(here))) {
      const other = pair.replace(here, '');
      tryOut(compact.slice(0, i) + other + compact.slice(i + 1), `character ${i + 1} "${other}" rather than "${here}"`);
    }
  }
  const [only] = fits;
  if (only === undefined || fits.size > 1) return null;
  return `Compare it with the original: it would fit with ${only[1]} (${formatRegisterNumber(only[0] as RegisterNumber)}).`;
}

/** The form for print and for reading aloud: `XXX-XXX-XXX`. */
export function formatRegisterNumber(number: RegisterNumber): string {
  return `${number.slice(0, 3)}-${number.slice(3, 6)}-${number.slice(6)}`;
}

/** The last group, for a small label. It tells the animals of a room apart; it is no number to look one up by. */
export function shortRegisterNumber(number: RegisterNumber): string {
  return number.slice(6);
}
