import { checkCharacter, hasValidCheckCharacter, REGISTER_ALPHABET } from '../../kernel/index.js';

declare const spokenCodeBrand: unique symbol;

/** A code that can be read aloud and typed: 20 characters as stored, without hyphens. Print with `formatSpokenCode`. */
export type SpokenCode = string & { readonly [spokenCodeBrand]: true };

/** 19 characters of 22 give 84.7 bits; asking the check character to lie in the alphabet costs 0.7 of them. */
const PAYLOAD_LENGTH = 19;
const GROUP = 5;

/** A code that lives for minutes and takes ten wrong tries at most does with 9 characters, 40 bits, before its check character. */
export const SHORT_PAYLOAD_LENGTH = 9;

/**
 * Draws a code: 19 characters of the register numbers' alphabet and their ISO 7064 MOD 37,36 check character, drawn
 * again until that one lies in the alphabet too. About 84 bits, so that it cannot be guessed. `randomIndex(below)` gives
 * a whole number from 0 to `below` - 1, each equally likely, from a secret or truly random source.
 */
export function makeSpokenCode(randomIndex: (below: number) => number, length = PAYLOAD_LENGTH): SpokenCode {
  // 22 of 36 check characters fit: 1,000 failures in a row mean a broken source.
  for (let attempt = 0; attempt < 1000; attempt++) {
    let payload = '';
    for (let i = 0; i < length; i++) payload += REGISTER_ALPHABET.charAt(randomIndex(REGISTER_ALPHABET.length));
    if (payload.length !== length) throw new RangeError('The random source gave an index outside the alphabet');
    const check = checkCharacter(payload);
    if (REGISTER_ALPHABET.includes(check)) return (payload + check) as SpokenCode;
  }
  throw new RangeError('The random source repeats itself');
}

/** Reads a code as people type it (lower case, blanks, dots, hyphens); null when it is mistyped, before any look-up. */
export function parseSpokenCode(text: string, length = PAYLOAD_LENGTH): SpokenCode | null {
  const compact = text.replace(/[\s.\-\u2010-\u2014]/g, '').toUpperCase();
  if (compact.length !== length + 1) return null;
  if ([...compact].some((character) => !REGISTER_ALPHABET.includes(character))) return null;
  return hasValidCheckCharacter(compact) ? (compact as SpokenCode) : null;
}

/** The form for print and for reading aloud: groups of five. */
export function formatSpokenCode(code: SpokenCode): string {
  return (code.match(new RegExp(`.{${GROUP}}`, 'g')) ?? []).join('-');
}
