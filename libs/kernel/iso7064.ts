/**
 * ISO 7064 MOD 37,36: one check character over 0-9 and A-Z, itself one of these. Catches every single wrong character
 * and nearly every swap of neighbours. The recursion is written from memory of the standard; the tests hold it to a
 * published example.
 */
const CHARACTERS = '0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ';
const M = 36;

/** State of the hybrid system after the given characters; null when one of them is not 0-9 or A-Z. */
function run(text: string): number | null {
  let state = M;
  for (const character of text) {
    const value = CHARACTERS.indexOf(character);
    if (value < 0) return null;
    const sum = (state + value) % M;
    state = ((sum === 0 ? M : sum) * 2) % (M + 1);
  }
  return state;
}

/** The check character for a text of 0-9 and A-Z. Throws RangeError when the text is empty or holds anything else. */
export function checkCharacter(text: string): string {
  const state = text === '' ? null : run(text);
  if (state === null) throw new RangeError('A check character needs a text of 0-9 and A-Z');
  return CHARACTERS.charAt((M + 1 - state) % M);
}

/** Whether the last character is the check character of those before it. False for anything that is not 0-9 and A-Z. */
export function hasValidCheckCharacter(text: string): boolean {
  const payload = text.slice(0, -1);
  return /^[0-9A-Z]+$/.test(payload) && checkCharacter(payload) === text.slice(-1);
}
