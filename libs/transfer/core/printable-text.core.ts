/** Characters beyond Latin-1 that the standard fonts of PDF have in their WinAnsi encoding. Source: ISO 32000-1, annex D. */
const BEYOND_LATIN_1 = '€‚ƒ„…†‡ˆ‰Š‹ŒŽ‘’“”•–—˜™š›œžŸ';

/** Letters that are not a plain letter with a sign above or below. */
const PLAIN: Readonly<Record<string, string>> = {
  ł: 'l',
  Ł: 'L',
  đ: 'd',
  Đ: 'D',
  ħ: 'h',
  Ħ: 'H',
  ı: 'i',
  ŧ: 't',
  Ŧ: 'T',
};

/**
 * The text with what the standard fonts of PDF lack written as near as they can: č as c, ł as l, other scripts as `?`.
 * The same text when nothing is lacking.
 */
export function printableText(text: string): string {
  return [...text.normalize('NFC')].map(printable).join('');
}

function printable(character: string): string {
  if (isPrintable(character)) return character;
  const plain = PLAIN[character] ?? character.normalize('NFD').replace(/\p{Mark}/gu, '');
  if (plain === '') return '';
  return [...plain].every(isPrintable) ? plain : '?';
}

function isPrintable(character: string): boolean {
  return /^[\u0020-\u007e\u00a0-\u00ff]$/.test(character) || BEYOND_LATIN_1.includes(character);
}
