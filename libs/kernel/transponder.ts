/**
 * Animal transponder numbers of ISO 11784: 15 decimal digits = 3 (country or manufacturer) + 12 (national number, which
 * must fit 38 bits). There is no check digit. Field widths: ICAR material on ISO 11784; manufacturer codes 900 (shared)
 * to 998 and 999 for tests: from memory.
 */

/** Who issued the number: a country (ISO 3166-1 numeric), one manufacturer, or a manufacturer sharing code 900. */
export type TransponderIssuer = { kind: 'country' | 'manufacturer' | 'sharedManufacturer'; code: string };

/**
 * What a text says as a transponder number.
 * - `valid`: `digits` is the normalised number, `nationalId` its 38-bit part, `word` the 64-bit code in hex with the
 *   animal flag set and the reserved bits and data flag zero.
 * - `test`: well formed but of code 999, which is not unique and identifies no animal; it has no word.
 * - `invalid`: why, and how to write it.
 */
export type TransponderVerdict =
  | { verdict: 'valid'; digits: string; issuer: TransponderIssuer; nationalId: bigint; word: string }
  | { verdict: 'test'; digits: string; message: string; remedy: string }
  | { verdict: 'invalid'; message: string; remedy: string };

const NATIONAL_BITS = 38n;
const ANIMAL_FLAG = 1n << 63n;

/**
 * Reads a transponder number; blanks, dots and hyphens are dropped. Country codes 001 to 899 are accepted without a look
 * into the list of assigned countries, so that a number from a newly coded country is never refused.
 */
export function parseTransponder(text: string): TransponderVerdict {
  const digits = text.replace(/[\s.\-\u2010-\u2014]/g, '');
  const foreign = [...digits].find((character) => character < '0' || character > '9');
  if (foreign !== undefined) {
    return invalid(`A transponder number has digits only, no "${foreign}".`, remedyFor(foreign));
  }
  if (digits.length !== 15) {
    const remedy =
      'Read it again. Record a chip of 9 or 10 characters that does not follow ISO 11784 as another kind of mark.';
    return invalid(`An ISO 11784 number has 15 digits; this has ${digits.length}.`, remedy);
  }
  const code = digits.slice(0, 3);
  const nationalId = BigInt(digits.slice(3));
  if (code === '000') {
    return invalid('No country or manufacturer has the code 000.', 'Read the first three digits again.');
  }
  if (nationalId >= 1n << NATIONAL_BITS) {
    return invalid(
      'The last 12 digits are higher than 274877906943, the highest that a transponder can hold.',
      'Read it again.',
    );
  }
  if (code === '999') {
    return {
      verdict: 'test',
      digits,
      message: 'Code 999 marks a test transponder: its number is not unique.',
      remedy: 'Have the animal marked with a transponder of its own, or record another kind of mark.',
    };
  }
  const word = ANIMAL_FLAG | (BigInt(code) << NATIONAL_BITS) | nationalId;
  return { verdict: 'valid', digits, issuer: issuerOf(code), nationalId, word: `0x${word.toString(16)}` };
}

function issuerOf(code: string): TransponderIssuer {
  if (code === '900') return { kind: 'sharedManufacturer', code };
  return { kind: code > '900' ? 'manufacturer' : 'country', code };
}

function invalid(message: string, remedy: string): TransponderVerdict {
  return { verdict: 'invalid', message, remedy };
}

function remedyFor(character: string): string {
  if (/[oO]/.test(character)) return 'Write the digit 0, if that is meant.';
  if (/[iIl]/.test(character)) return 'Write the digit 1, if that is meant.';
  return 'Write the 15 digits as the reader shows them.';
}
